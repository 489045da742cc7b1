// The work page: text of the site file in, changes out, answers shown as they come.
import { View3D } from "./scene3d.js";
import { fillKey } from "./key.js";
import { PlanView } from "./plan_view.js";
import { PlanTools } from "./plan_tools.js";
import { LISTS, levels, onLevel, withRoofs } from "./house.js";
import { element, fillFields, fillWant, refill } from "./fields.js";
import { said } from "./lengths.js";
import { showAnswer } from "./answers.js";

const $ = (id) => document.getElementById(id);

async function ask(where, body) {
  const reply = await fetch(where, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
  const text = await reply.text();
  let answer;
  try { answer = JSON.parse(text); } catch { answer = { error: text }; }
  return { status: reply.status, answer };
}

export async function startWork() {
  const units = document.body.dataset.units;
  const state = { text: "", saved: "", base: "", undo: [], redo: [], document: {}, site: null, level: 0, chosen: null, tool: "select",
    route: "", tab: "findings", answer: null, asked: 0, queue: Promise.resolve() };
  const plan = new PlanView($("plan"), units);
  let view = null;
  try { view = new View3D($("view3d"), { onHover: hover, onPick: (shape) => pickShape(shape) }); } catch (problem) {
    console.info("no 3D view:", problem.message);
    $("view3d").hidden = true;
    document.querySelector(".no-3d").hidden = false;
  }
  const tip = $("view3d").querySelector(".tip");
  function hover(shape) {
    tip.textContent = shape ? `${shape.name}: ${shape.description}` : "";
    view.highlight(shape && ["pipe", "fitting", "terminal"].includes(shape.look) ? shape.id : null);
  }
  const raw = (kind, index) => (kind === "appliance" ? state.document.appliance : state.document[kind]?.[index]);
  new PlanTools(plan, units, { edit, choose, tell: (words) => { $("measure").textContent = words; }, tool: () => state.tool, raw });

  function progress(words, mood = "") { $("progress").textContent = words; $("progress").dataset.state = mood; }

  // Changes are sent one after the other: each starts from the text that the last one left.
  function edit(ops, what, then = null) {
    if (!ops.length) return Promise.resolve();
    state.queue = state.queue.then(async () => {
      const before = state.text;
      const { status, answer } = await ask("edit", { text: before, ops });
      if (status !== 200) { progress(`not changed: ${answer.error || status}`, "fault"); refresh(); return; }
      state.undo.push(before);
      state.redo = [];
      if (state.tool !== "select") useTool("select");
      if (then) state.chosen = then;
      take(answer);
    }).catch((problem) => progress(`the server does not answer: ${problem.message}`, "fault"));
    return state.queue;
  }

  function take(seen) {
    state.text = seen.text;
    state.document = seen.document || state.document;
    if (seen.site) state.site = withRoofs(seen.site, state.document);
    refresh();
    showFaults(seen.faults || []);
    think();
  }

  async function think() {
    const mine = (state.asked += 1);
    const began = performance.now();
    const tick = setInterval(() => progress(`planning, ${((performance.now() - began) / 1000).toFixed(0)} s`, "working"), 1000);
    document.body.dataset.state = "planning";
    for (const id of ["routes", "about"]) $(id).classList.toggle("stale", Boolean(state.answer));
    progress("planning", "working");
    let reply;
    try { reply = await ask("plan", { text: state.text }); } catch (problem) { reply = { status: 0, answer: { error: problem.message } }; }
    clearInterval(tick);
    if (mine !== state.asked) return; // an answer to an older question
    document.body.dataset.state = "done";
    const { status, answer } = reply;
    if (status !== 200) { progress(`no answer: ${answer.error || status}`, "fault"); return; }
    showFaults(answer.faults || []);
    if (!answer.ok) { progress("the file has faults; the last good answer is shown", "fault"); return; }
    state.answer = answer;
    state.site = withRoofs(answer.site, state.document);
    if (!answer.routes.some((route) => route.id === state.route)) state.route = answer.routes[0]?.id || "";
    for (const id of ["routes", "about"]) $(id).classList.remove("stale");
    const seconds = (performance.now() - began) / 1000;
    progress(answer.routes.length ? `up to date (${seconds.toFixed(1)} s)` : "no compliant route", answer.routes.length ? "ok" : "fault");
    if (view) {
      await view.load(answer.glb, answer.data, { keepView: true });
      view.choose(state.route);
      fillKey($("key"), answer.data, view);
    }
    refresh();
    document.body.dataset.answers = String(Number(document.body.dataset.answers || 0) + 1);
    document.body.dataset.ready = "work";
  }

  function refresh() {
    const { site } = state;
    $("undo").disabled = !state.undo.length;
    $("redo").disabled = !state.redo.length;
    $("save").disabled = state.text === state.saved;
    document.title = `${state.text === state.saved ? "" : "• "}ventroute: ${state.file || ""}`;
    if (!site) return;
    const floors = levels(site);
    state.level = Math.min(state.level, floors.length - 1);
    const list = $("level");
    list.replaceChildren(...floors.map((level, k) => element("option", { value: k, selected: k === state.level }, `${said(level.bottom, units)}: ${level.names.join(", ")}`)));
    const route = state.answer?.routes.find((one) => one.id === state.route);
    const { chosen } = state;
    const own = chosen && raw(chosen.kind, chosen.index);
    plan.set({ site, level: floors[state.level], chosen: own ? chosen : null, raw: own, route: route?.corners });
    const spaces = [...site.rooms.map((room) => room.name), "outdoors"];
    const set = (path, value) => edit([{ op: "set", path, value }], "change");
    const remove = () => { const { kind, index } = chosen; state.chosen = null; edit([{ op: "remove", table: kind, index }], "remove"); };
    refill($("fields"), [chosen, own, spaces], () => fillFields($("fields"), { ...(own ? chosen : {}), raw: own, spaces, set, remove }));
    refill($("want"), [site.want, site.appliance.materials, site.appliance.sizes, state.document.want], () => fillWant($("want"), site, state.document.want, set));
    refill($("things"), [chosen, state.document], listThings);
    if (state.answer) showAnswer(state, (id) => { state.route = id; view?.choose(id); refresh(); });
  }

  function listThings() {
    const row = (kind, index, words) => element("button", { type: "button", "aria-current": String(state.chosen?.kind === kind && state.chosen?.index === index),
      on: { click: () => choose(kind, index, true) } }, words);
    const rows = [row("appliance", 0, `appliance: ${state.site.appliance.name || state.site.appliance.model}`)];
    for (const kind of Object.keys(LISTS)) {
      (state.document[kind] || []).forEach((thing, k) => rows.push(row(kind, k, `${kind.replace("_", " ")}: ${thing.name ?? k + 1}`)));
    }
    $("things").replaceChildren(...rows);
  }

  function choose(kind, index = 0, goto = false) {
    state.chosen = kind ? { kind, index } : null;
    if (goto && state.site) {
      const thing = LISTS[kind] && state.site[LISTS[kind]][index];
      const floors = levels(state.site);
      const seen = thing && !onLevel(kind, thing, floors[state.level]) ? floors.findIndex((level) => onLevel(kind, thing, level)) : -1;
      if (seen >= 0) state.level = seen;
    }
    refresh();
  }

  function pickShape(shape) {
    const [, kind, n] = shape?.id.match(/^(room|hole|cut|obstacle|feature|keep_out|appliance)_(\d+)$/) || [];
    if (kind) choose(kind, Number(n) - 1, true);
  }

  function showFaults(faults) {
    $("faults").replaceChildren(...faults.slice(0, 12).map(({ line, key, what }) => {
      const [, kind, n] = key.match(/^(room|roof|hole|cut|obstacle|feature|keep_out|framing|appliance)(?:\[(\d+)\])?/) || [];
      const go = kind && element("button", { type: "button", on: { click: () => choose(kind, n ? Number(n) - 1 : 0, true) } }, "show");
      return element("p", {}, `Line ${line}: ${key ? `${key}: ` : ""}${what} `, go || null);
    }));
  }

  function step(from, to) {
    if (!from.length) return;
    state.queue = state.queue.then(async () => {
      const text = from.pop();
      const { status, answer } = await ask("edit", { text, ops: [] });
      if (status !== 200) { from.push(text); return; }
      to.push(state.text);
      take(answer);
    });
  }

  async function save() {
    await state.queue;
    const text = state.text;
    const { status, answer } = await ask("save", { text, base: state.base });
    if (status === 200) { state.base = answer.base; state.saved = text; progress("saved", "ok"); document.body.dataset.saved = String(Number(document.body.dataset.saved || 0) + 1); refresh(); return; }
    progress(`not saved: ${answer.error || status}`, "fault");
    if (status === 409 && window.confirm("The file on disk has changed since this page read it. Put this page's version in its place?")) {
      state.base = answer.base;
      await save();
    }
  }

  function useTool(name) {
    state.tool = name;
    for (const button of document.querySelectorAll("[data-tool]")) button.setAttribute("aria-pressed", String(button.dataset.tool === name));
    plan.svg.style.cursor = name === "select" ? "default" : "crosshair";
  }

  for (const button of document.querySelectorAll("[data-tool]")) button.addEventListener("click", () => useTool(button.dataset.tool));
  for (const button of document.querySelectorAll("[data-tab]")) {
    button.addEventListener("click", () => {
      state.tab = button.dataset.tab;
      for (const other of document.querySelectorAll("[data-tab]")) other.setAttribute("aria-pressed", String(other === button));
      refresh();
    });
  }
  for (const button of document.querySelectorAll("[data-zoom]")) button.addEventListener("click", () => plan.zoom(Number(button.dataset.zoom)));
  for (const form of document.querySelectorAll("form")) form.addEventListener("submit", (event) => event.preventDefault());
  $("level").addEventListener("change", () => { state.level = Number($("level").value); refresh(); });
  $("undo").addEventListener("click", () => step(state.undo, state.redo));
  $("redo").addEventListener("click", () => step(state.redo, state.undo));
  $("save").addEventListener("click", save);
  window.addEventListener("keydown", (event) => {
    const typing = ["INPUT", "SELECT"].includes(event.target.tagName);
    if (event.key === "Escape") useTool("select");
    if (!(event.ctrlKey || event.metaKey) || (typing && event.key !== "s")) return;
    const act = { z: () => step(state.undo, state.redo), y: () => step(state.redo, state.undo), s: save }[event.key];
    if (act) { event.preventDefault(); act(); }
  });
  window.addEventListener("beforeunload", (event) => { if (state.text !== state.saved) event.preventDefault(); });
  window.ventroute = { state, view, plan };

  const { status, answer } = await ask("open", {});
  if (status !== 200) { progress(`cannot be opened: ${answer.error || status}`, "fault"); document.body.dataset.ready = "fault"; return; }
  Object.assign(state, { base: answer.base, saved: answer.text, file: answer.file });
  take(answer);
}
