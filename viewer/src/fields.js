// Fields for what is chosen, and for what is wanted: as written in the file, so that nothing is rounded on the way.
import { typed } from "./lengths.js";

const KINDS = ["window, openable", "window, fixed", "door", "inlet, gravity", "inlet, mechanical", "gas regulator vent", "gas meter",
  "electric meter", "walkway, public", "driveway", "porch", "deck", "balcony", "soffit, vented", "soffit, unvented", "neighbour opening", "lot line"];
const WAYS = ["up", "down", "north", "south", "east", "west"];
const AXES = ["x (east)", "y (north)", "z (up)"];
const SIZES = ["width (x)", "depth (y)", "height (z)"];
const PICKS = {
  feature: { kind: KINDS }, room: { air: ["heated", "unheated"] }, keep_out: { applies: ["terminal", "route", "both"] },
  hole: { axis: WAYS }, cut: { axis: WAYS }, appliance: { faces: WAYS },
  framing: { kind: ["joist", "stud", "rafter"], runs: WAYS }, gable: { ridge: ["north", "south", "east", "west"] },
};
const EXTRA = { obstacle: ["gap"], appliance: ["collar_size"] };
const HIDDEN = new Set(["floor", "ends", "sizes", "mesh", "gable", "corners"]);

export function element(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined || value === false) continue;
    if (key === "on") for (const [type, act] of Object.entries(value)) made.addEventListener(type, act);
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...inside.filter((part) => part !== null));
  return made;
}

const line = (words, input) => element("label", {}, words, input);

function textInput(value, path, set) {
  const input = element("input", { type: "text", value: value ?? "", spellcheck: "false", "data-path": path.join(".") });
  input.addEventListener("change", () => { input.defaultValue = input.value; set(path, input.value.trim() === "" ? null : typeof value === "string" && path.at(-1) === "name" ? input.value.trim() : typed(input.value)); });
  return input;
}

function choice(value, options, path, set) {
  const list = options.includes(value) || value === undefined || Array.isArray(value) ? options : [value, ...options];
  const box = element("select", { "data-path": path.join(".") });
  for (const option of list) box.append(element("option", { value: option, selected: option === value }, option));
  if (Array.isArray(value)) box.prepend(element("option", { value: "", selected: true }, value.join(", ")));
  box.addEventListener("change", () => { if (box.value) set(path, box.value); });
  return box;
}

function triple(words, names, value, path, set) {
  const row = element("div", { class: "triple" });
  value.forEach((part, k) => row.append(line(names[k], textInput(part, [...path, k], set))));
  return element("fieldset", {}, element("legend", {}, words), row);
}

export function fillFields(box, { kind, index, raw, spaces, set, remove }) {
  box.replaceChildren();
  if (!raw) { box.append(element("p", {}, "Choose a thing on the plan or in the list, or pick a tool and draw.")); return; }
  const path = kind === "appliance" ? ["appliance"] : [kind, index];
  const keys = [...new Set([...Object.keys(raw), ...(EXTRA[kind] || [])])];
  for (const key of keys) {
    const value = raw[key];
    if (HIDDEN.has(key) || (value !== null && typeof value === "object" && !Array.isArray(value))) continue;
    const at = [...path, key];
    const words = key.replaceAll("_", " ");
    if (PICKS[kind]?.[key]) box.append(line(words, choice(value, PICKS[kind][key], at, set)));
    else if (key === "through") box.append(triple2(value, at, spaces, set));
    else if (Array.isArray(value) && value.length === 3 && key === "size") box.append(triple("size", SIZES, value, at, set));
    else if (Array.isArray(value) && value.length === 3 && typeof value[0] !== "object") box.append(triple(words, AXES, value, at, set));
    else if (!Array.isArray(value)) box.append(line(words, textInput(value, at, set)));
  }
  if (raw.gable) box.append(gableFields(raw.gable, [...path, "gable"], set));
  box.append(element("small", {}, "Write 7 ft 6 1/2 in, 7' 6-1/2\", 2.31 m, or a bare number in the file's units."));
  if (kind !== "appliance") box.append(element("p", {}, element("button", { type: "button", id: "remove", on: { click: remove } }, "Remove")));
}

function gableFields(gable, path, set) {
  const group = element("fieldset", {}, element("legend", {}, "gable"));
  (gable.over || []).forEach((corner, p) => {
    const row = element("div", { class: "triple" });
    corner.forEach((part, k) => row.append(line(`${p ? "to" : "from"} ${"xy"[k]}`, textInput(part, [...path, "over", p, k], set))));
    group.append(row);
  });
  for (const key of ["ridge", "eave", "pitch", "overhang"]) {
    const at = [...path, key];
    group.append(line(key, PICKS.gable[key] ? choice(gable[key], PICKS.gable[key], at, set) : textInput(gable[key], at, set)));
  }
  return group;
}

function triple2(value, path, spaces, set) {
  const row = element("fieldset", {}, element("legend", {}, "through"));
  value.forEach((space, k) => row.append(line(k ? "to" : "from", choice(space, spaces, [...path, k], set))));
  return row;
}

export function fillWant(box, site, want, set) {
  const { materials, sizes } = site.appliance;
  const chosen = site.want.materials.length ? site.want.materials : materials;
  const sized = site.want.sizes_in.length ? site.want.sizes_in : sizes.map((row) => row.size_in);
  const ticks = (words, all, on, name, text) => {
    const group = element("fieldset", {}, element("legend", {}, words), element("div", { class: "ticks" }));
    for (const one of all) {
      const tick = element("input", { type: "checkbox", name, value: one, checked: on.includes(one) });
      tick.addEventListener("change", () => {
        const left = [...box.querySelectorAll(`input[name=${name}]:checked`)].map((input) => input.value);
        if (!left.length) { tick.checked = true; return; }
        set(["want", name], left.map((value) => text(value)));
      });
      group.lastChild.append(element("label", {}, tick, text(one)));
    }
    return group;
  };
  const size = (value) => {
    const quarters = Math.round(Number(value) * 4);
    if (Math.abs(Number(value) * 4 - quarters) > 1e-6) return "100 mm";
    const part = ["", "1/4", "1/2", "3/4"][quarters % 4];
    return `${[Math.floor(quarters / 4) || "", part].filter(Boolean).join(" ")} in`;
  };
  box.replaceChildren(
    ticks("materials", materials, chosen, "materials", (value) => value),
    ticks("sizes", sizes.map((row) => row.size_in), sized, "sizes", size),
    ticks("ends at", ["roof", "wall"], site.want.terminals, "terminals", (value) => value),
    line("prefer", choice(site.want.prefer, ["length", "cost", "fittings"], ["want", "prefer"], set)),
    line("gap", textInput(want?.gap ?? "1 in", ["want", "gap"], set)));
}

// Fills a box again only where what it shows has changed, and leaves a person where they were typing.
export function refill(box, shown, fill) {
  const key = JSON.stringify(shown);
  if (box.dataset.shown === key) return;
  const active = box.contains(document.activeElement) ? document.activeElement : null;
  const name = (one) => one.dataset.path || (one.name ? `${one.name}=${one.value}` : one.textContent);
  const kept = active && { name: name(active), value: active.value, dirty: active.type === "text" && active.value !== active.defaultValue };
  fill();
  box.dataset.shown = key;
  if (!kept) return;
  const again = [...box.querySelectorAll("input, select, button")].find((one) => name(one) === kept.name);
  if (!again) return;
  again.focus();
  if (kept.dirty) again.value = kept.value;
}
