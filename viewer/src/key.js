// What the colours and patterns mean, each with a tick to hide it.
import { swatch } from "./looks.js";

const AT_ONCE = [["pipe", "fitting", "terminal"]];

export function fillKey(box, data, view) {
  const done = new Set();
  for (const row of box.querySelectorAll("label")) row.remove();
  for (const [key, look] of Object.entries(data.looks)) {
    if (done.has(key)) continue;
    const looks = AT_ONCE.find((set) => set.includes(key)) || [key];
    looks.forEach((name) => done.add(name));
    box.append(row(looks.filter((name) => data.looks[name]), data, view));
  }
  const names = document.createElement("label");
  const tick = ticked(view.labels.on, (on) => { view.labels.on = on; view.draw(); });
  names.append(tick, "names");
  box.append(names);
}

function row(looks, data, view) {
  const label = document.createElement("label");
  label.append(ticked(!looks.some((look) => view.hidden.has(look)), (on) => view.toggle(looks, on)));
  for (const look of looks) label.append(swatch(data.looks[look]));
  label.append(looks.map((look) => data.looks[look].label).join(", "));
  return label;
}

function ticked(on, act) {
  const tick = document.createElement("input");
  tick.type = "checkbox";
  tick.checked = on;
  tick.addEventListener("change", () => act(tick.checked));
  return tick;
}
