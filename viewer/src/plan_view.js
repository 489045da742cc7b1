// The plan of one level as SVG, in metres, north up.
import { LISTS, extent, fall, members, onLevel } from "./house.js";
import { brief, said } from "./lengths.js";

const SPACE = "http://www.w3.org/2000/svg";
const INK = { room: "#56B4E9", hole: "#009E73", cut: "#8a7a00", obstacle: "#E69F00", feature: "#0072B2", keep_out: "#b0447f", route: "#D55E00", roof: "#7a4a1e", framing: "#6b6b6b" };
const SMALLEST = 11; // px of lettering, on a phone too

export function node(name, attributes = {}, ...inside) {
  const made = document.createElementNS(SPACE, name);
  for (const [key, value] of Object.entries(attributes)) if (value !== undefined) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}

const points = (list) => list.map(([x, y]) => `${x},${-y}`).join(" ");
const corners = ([low, high]) => [[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]];

export class PlanView {
  constructor(holder, units) {
    this.holder = holder;
    this.units = units;
    this.svg = node("svg", { tabindex: 0, role: "group" });
    holder.prepend(this.svg);
    this.svg.addEventListener("wheel", (event) => this._wheel(event), { passive: false });
    this.svg.addEventListener("dblclick", () => { this.frame = null; this.draw(); });
  }

  set(state) { Object.assign(this, state); this.draw(); }

  at(event) {
    const spot = new DOMPoint(event.clientX, event.clientY).matrixTransform(this.svg.getScreenCTM().inverse());
    return [spot.x, -spot.y];
  }

  _wheel(event) {
    if (!this.frame) return;
    event.preventDefault();
    const [x, y] = this.at(event);
    const by = event.deltaY > 0 ? 1.15 : 1 / 1.15;
    const [fx, fy, fw, fh] = this.frame;
    this.frame = [x - (x - fx) * by, -y - (-y - fy) * by, fw * by, fh * by];
    this.draw();
  }

  zoom(by) {
    if (by) {
      const [x, y, w, h] = this.frame;
      this.frame = [x + (w * (1 - by)) / 2, y + (h * (1 - by)) / 2, w * by, h * by];
    } else this.frame = null;
    this.draw();
  }

  pan(dx, dy) {
    this.frame = [this.frame[0] - dx, this.frame[1] + dy, this.frame[2], this.frame[3]];
    this.draw();
  }

  draw() {
    if (!this.site) return;
    const { site, level } = this;
    if (!this.frame) {
      const xs = site.building.footprint.map((p) => p[0]);
      const ys = site.building.footprint.map((p) => -p[1]);
      const edge = 1.6;
      this.frame = [Math.min(...xs) - edge, Math.min(...ys) - edge, Math.max(...xs) - Math.min(...xs) + 2 * edge, Math.max(...ys) - Math.min(...ys) + 2 * edge];
    }
    this.svg.setAttribute("viewBox", this.frame.join(" "));
    this.svg.setAttribute("aria-label", `Plan at level ${said(level.bottom, this.units)}: ${level.names.join(", ")}. Choose in the list of things; arrow keys move what is chosen.`);
    const scale = Math.min(this.svg.clientWidth / this.frame[2], this.svg.clientHeight / this.frame[3]);
    this.em = Math.max(this.frame[2] / 52, scale > 0 ? SMALLEST / 0.85 / scale : 0);
    this.line = this.frame[2] / 420;
    this.words = [];
    this.taken = [];
    this.svg.replaceChildren(this._patterns(), this._grid(), this._footprint());
    for (const [n, room] of site.rooms.entries()) if (!onLevel("room", room, level)) this._room(room, n, true);
    for (const [n, room] of site.rooms.entries()) if (onLevel("room", room, level)) this._room(room, n, false);
    for (const kind of ["roof", "framing", "keep_out", "feature", "cut", "obstacle", "hole"]) {
      for (const [n, thing] of site[LISTS[kind]].entries()) if (onLevel(kind, thing, level)) this._thing(kind, thing, n);
    }
    this._appliance();
    if (this.route) this._route(this.route);
    this.svg.append(...this.words); // over everything, so that nothing hides a name
    this._handles();
  }

  _patterns() {
    const step = this.frame[2] / 60;
    const hatch = node("pattern", { id: "hatch", width: step, height: step, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      node("rect", { width: step * 0.4, height: step, fill: INK.cut }));
    const dots = node("pattern", { id: "dots", width: step, height: step, patternUnits: "userSpaceOnUse" },
      node("circle", { cx: step / 2, cy: step / 2, r: step / 4, fill: INK.keep_out }));
    return node("defs", {}, hatch, dots);
  }

  _grid() {
    const step = this.units === "metric" ? 1 : 0.3048;
    const [x, y, w, h] = this.frame;
    let path = "";
    if (w / step < 150) {
      const far = Math.max(w, h); // the picture shows more than the frame where their proportions differ
      for (let k = Math.ceil((x - far) / step); k * step < x + w + far; k += 1) path += `M${k * step} ${y - far}v${h + 2 * far}`;
      for (let k = Math.ceil((y - far) / step); k * step < y + h + far; k += 1) path += `M${x - far} ${k * step}h${w + 2 * far}`;
    }
    return node("path", { d: path, stroke: "#e7ebee", "stroke-width": this.line * 0.6, fill: "none" });
  }

  _footprint() {
    return node("polygon", { points: points(this.site.building.footprint), fill: "#eceff1", stroke: "#333", "stroke-width": this.line * 1.6 });
  }

  _pick(kind, index, shape) {
    shape.dataset.pick = `${kind}:${index}`;
    if (this.chosen?.kind === kind && this.chosen.index === index) {
      shape.setAttribute("class", "chosen");
      shape.setAttribute("stroke-width", this.line * 3);
    }
    this.svg.append(shape);
  }

  // A name, moved off those that stand there already: an old flue's holes lie over each other.
  _words(x, y, words, more = {}) {
    const size = more["font-size"] || this.em;
    const half = [words.length * size * 0.29, size * 0.55];
    const free = (at) => this.taken.every(([tx, ty, tw, th]) => Math.abs(tx - x) >= tw + half[0] || Math.abs(ty - at) >= th + half[1]);
    const at = [0, -1, 1, -2, 2, -3, 3, -4, 4].map((k) => y + k * size * 1.15).find(free) ?? y;
    this.taken.push([x, at, ...half]);
    this.words.push(node("text", { x, y: -at, "font-size": this.em, "text-anchor": "middle", fill: "#1a1f24", stroke: "#fff", "stroke-width": this.em / 5, "paint-order": "stroke", ...more }, words));
  }

  _room(room, index, ghost) {
    if (ghost) {
      this.svg.append(node("polygon", { points: points(room.floor), fill: "none", stroke: "#9aa4ac", "stroke-width": this.line, "stroke-dasharray": `${this.line * 4}` }));
      return;
    }
    const tint = room.heated ? "#dceefa" : "#eaf0f4";
    this._pick("room", index, node("polygon", { points: points(room.floor), fill: tint, stroke: "#1f5f86", "stroke-width": this.line * 1.5 }));
    const [low, high] = extent("room", room);
    this._words((low[0] + high[0]) / 2, high[1] - this.em * 1.4, room.name, { "font-weight": 700 });
    const wide = `${said(high[0] - low[0], this.units)} × ${said(high[1] - low[1], this.units)}`;
    this._words((low[0] + high[0]) / 2, high[1] - this.em * 2.7, wide, { "font-size": this.em * 0.85 });
  }

  // Slopes by their edges, with an arrow down each; only the edges can be picked, the rooms below stay at hand.
  _roof(roof, index) {
    const shape = node("g", { fill: "none", stroke: INK.roof, "stroke-width": this.line * 2 });
    shape.append(node("title", {}, `${roof.name} (roof; arrows run downhill)`));
    for (const corners of roof.slopes) {
      shape.append(node("polygon", { points: points(corners), "stroke-dasharray": `${this.line * 9} ${this.line * 4}` }));
      const [x, y] = [0, 1].map((k) => corners.reduce((sum, p) => sum + p[k], 0) / corners.length);
      const [dx, dy] = fall(corners).map((v) => v * this.em * 2);
      const tip = [x + dx, y + dy];
      const side = [[-dx - dy, dx - dy], [-dx + dy, -dx - dy]].map(([u, v]) => `M${tip[0]} ${-tip[1]}l${u * 0.3} ${-v * 0.3}`);
      shape.append(node("path", { d: `M${x - dx} ${-y + dy}L${tip[0]} ${-tip[1]}${side.join("")}` }));
    }
    this._pick("roof", index, shape);
    const [low, high] = extent("roof", roof);
    this._words((low[0] + high[0]) / 2, high[1] + this.em * 0.4, brief(roof.name), { "font-size": this.em * 0.85, fill: INK.roof });
  }

  // The box of the members, and each of them as far as it is seen in plan.
  _framing(framing, index) {
    const [low, high] = extent("framing", framing);
    const shape = node("g", { fill: "none", stroke: INK.framing, "stroke-width": this.line * 1.2 });
    shape.append(node("title", {}, `${framing.name} (${framing.kind}s)`),
      node("polygon", { points: points(corners([low, high])), "stroke-dasharray": `${this.line * 3}` }));
    const { side, at } = members(framing);
    const half = framing.width_m / 2;
    if (side < 2) {
      const bars = at.map((p) => { const [a, b] = [[...low], [...high]]; a[side] = p - half; b[side] = p + half; return corners([a, b]); });
      for (const bar of bars) shape.append(node("polygon", { points: points(bar), fill: "#6b6b6b55", stroke: "none", "pointer-events": "none" }));
    }
    this._pick("framing", index, shape);
    this._words((low[0] + high[0]) / 2, low[1] + this.em * 0.5, brief(framing.name), { "font-size": this.em * 0.85, fill: INK.framing });
  }

  _thing(kind, thing, index) {
    if (kind === "roof") { this._roof(thing, index); return; }
    if (kind === "framing") { this._framing(thing, index); return; }
    const box = extent(kind, thing);
    if (!box) return;
    const fill = { keep_out: "url(#dots)", cut: "url(#hatch)", obstacle: "#f3d191", feature: "#9cc6e2", hole: "#b6e2d3" }[kind];
    const look = { fill, stroke: INK[kind], "stroke-width": this.line * 1.5 };
    const round = kind === "hole" && Math.abs(thing.axis[2]) > 0.9;
    const middle = [(box[0][0] + box[1][0]) / 2, (box[0][1] + box[1][1]) / 2];
    const shape = round
      ? node("circle", { cx: middle[0], cy: -middle[1], r: thing.clear_m / 2, ...look })
      : node("polygon", { points: points(corners(box)), ...look });
    shape.append(node("title", {}, `${thing.name} (${thing.kind || kind.replace("_", " ")})`));
    this._pick(kind, index, shape);
    this._words(middle[0], (round ? box[1][1] + this.em * 0.5 : middle[1] - this.em * 0.3), brief(thing.name), { "font-size": this.em * 0.85 });
  }

  _appliance() {
    const { collar_m: [x, y], collar_size_in: size, name } = this.site.appliance;
    const r = (size * 0.0254) / 2;
    const mark = node("g", {});
    mark.append(
      node("rect", { x: x - 0.28, y: -y - 0.28, width: 0.56, height: 0.56, rx: 0.06, fill: "#ffffffb0", stroke: "#000", "stroke-width": this.line * 1.5 }),
      node("circle", { cx: x, cy: -y, r, fill: "#000" }), node("title", {}, name || "appliance"));
    this._pick("appliance", 0, mark);
    this._words(x, y - 0.28 - this.em * 1.1, brief(name || "appliance"), { "font-size": this.em * 0.85 });
  }

  _route(list) {
    const spots = list.map(([x, y]) => [x, y]);
    this.svg.append(
      node("polyline", { points: points(spots), fill: "none", stroke: "#fff", "stroke-width": this.line * 6, "pointer-events": "none" }),
      node("polyline", { points: points(spots), fill: "none", stroke: INK.route, "stroke-width": this.line * 3.4, "stroke-linejoin": "round", "pointer-events": "none" }));
    const [x, y] = spots[spots.length - 1];
    this.svg.append(node("path", { d: `M${x} ${-y - this.em * 0.7}l${this.em * 0.7} ${this.em * 0.7}l${-this.em * 0.7} ${this.em * 0.7}l${-this.em * 0.7} ${-this.em * 0.7}z`, fill: INK.route, "pointer-events": "none" }));
    this._words(x + this.em, y - this.em * 0.3, "terminal", { "text-anchor": "start", "font-size": this.em * 0.85, "font-weight": 700 });
  }

  _handles() {
    if (!this.chosen || !this.raw) return;
    const { kind, index } = this.chosen;
    const thing = LISTS[kind] && this.site[LISTS[kind]][index];
    if (!thing) return;
    const spots = this.raw.floor ? thing.floor.map((p, k) => [p, `floor:${k}`])
      : this.raw.corner ? corners(extent(kind, thing)).map((p, k) => [p, `corner:${k}`]) : [];
    const s = this.em * 0.45;
    for (const [[x, y], name] of spots) {
      this.svg.append(node("rect", { class: "handle", x: x - s, y: -y - s, width: 2 * s, height: 2 * s, "stroke-width": this.line * 1.5, "data-handle": name }));
    }
  }

  ghost(low, high) {
    this.svg.querySelector(".ghost")?.remove();
    if (low) this.svg.append(node("polygon", { class: "ghost", points: points(corners([low, high])), fill: "#b000b022", stroke: "#b000b0", "stroke-width": this.line * 2, "pointer-events": "none" }));
  }
}
