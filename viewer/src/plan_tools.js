// Pointer and keys on the plan: drawing, moving, sizing. Each gesture ends as one list of changes.
import { LISTS, drawn, extent } from "./house.js";
import { said, snap, snapStep } from "./lengths.js";

const m = (value) => ({ m: value });
const CATCH = 0.06; // an edge this near to a wall is meant to be on it

export class PlanTools {
  constructor(view, units, { edit, choose, tell, tool, raw }) {
    Object.assign(this, { view, units, edit, choose, tell, tool, raw, step: snapStep(units) });
    const { svg } = view;
    svg.addEventListener("pointerdown", (event) => this._down(event));
    svg.addEventListener("pointermove", (event) => this._move(event));
    svg.addEventListener("pointerup", (event) => this._up(event));
    svg.addEventListener("pointercancel", () => this._end());
    svg.addEventListener("keydown", (event) => this._key(event));
  }

  _near(value, axis) {
    const edges = [...this.view.site.building.footprint, ...this.view.site.rooms.flatMap((room) => room.floor)].map((p) => p[axis]);
    const best = edges.reduce((a, b) => (Math.abs(b - value) < Math.abs(a - value) ? b : a), Infinity);
    return Math.abs(best - value) < CATCH ? best : snap(value, this.step);
  }

  _spot(event) { return this.view.at(event).map((v, axis) => this._near(v, axis)); }

  _down(event) {
    if (event.button !== 0 || !this.view.site) return;
    this.view.svg.setPointerCapture(event.pointerId);
    const start = this.view.at(event);
    const tool = this.tool();
    if (tool !== "select") { this.drag = { mode: tool === "appliance" ? "place" : "draw", tool, start: this._spot(event) }; return; }
    const handle = event.target.closest("[data-handle]");
    if (handle) { this.drag = { mode: "size", handle: handle.dataset.handle, start }; return; }
    const picked = event.target.closest("[data-pick]");
    if (!picked) { this.drag = { mode: "pan", start, moved: false }; return; }
    const [kind, index] = picked.dataset.pick.split(":");
    this.choose(kind, Number(index));
    this.drag = { mode: "move", start, kind, index: Number(index) };
  }

  _move(event) {
    if (!this.drag) return;
    const { mode, start } = this.drag;
    const at = this.view.at(event);
    if (mode === "pan") {
      if (Math.hypot(at[0] - start[0], at[1] - start[1]) > this.view.line * 2) { this.drag.moved = true; this.view.pan(at[0] - start[0], at[1] - start[1]); }
      return;
    }
    const box = this._box(event);
    if (!box) return;
    this.drag.box = box;
    this.view.ghost(box[0], box[1]);
    this.tell(mode === "move"
      ? `moved ${said(box[2], this.units)} east, ${said(box[3], this.units)} north`
      : `${said(box[1][0] - box[0][0], this.units)} × ${said(box[1][1] - box[0][1], this.units)}`);
  }

  // Low and high corner of what the gesture makes, and how far it moved.
  _box(event) {
    const { mode, start, kind, index, handle } = this.drag;
    const at = this._spot(event);
    if (mode === "draw" || mode === "place") return [[0, 1].map((k) => Math.min(start[k], at[k])), [0, 1].map((k) => Math.max(start[k], at[k]))];
    const here = this.view.at(event);
    const by = [0, 1].map((k) => snap(here[k] - start[k], this.step));
    if (mode === "move") {
      const box = kind === "appliance" ? this._collar() : extent(kind, this.view.site[LISTS[kind]][index]);
      return box && [[box[0][0] + by[0], box[0][1] + by[1]], [box[1][0] + by[0], box[1][1] + by[1]], by[0], by[1]];
    }
    const { kind: own, index: n } = this.view.chosen;
    const [low, high] = extent(own, this.view.site[LISTS[own]][n]);
    const [what, k] = [handle.split(":")[0], Number(handle.split(":")[1])];
    if (what === "floor") return [at, at];
    const far = [[high, high], [low, high], [low, low], [high, low]][k].map((corner, axis) => corner[axis]);
    return [[0, 1].map((axis) => Math.min(far[axis], at[axis])), [0, 1].map((axis) => Math.max(far[axis], at[axis]))];
  }

  _collar() {
    const [x, y] = this.view.site.appliance.collar_m;
    return [[x - 0.28, y - 0.28, 0], [x + 0.28, y + 0.28, 0]];
  }

  _up(event) {
    if (!this.drag) return;
    const { mode, tool, start, kind, index, handle, box, moved } = this.drag;
    this._end();
    if (mode === "pan") { if (!moved) this.choose(null); return; }
    if (mode === "draw") { this._add(tool, start, box || [start, start]); return; }
    if (mode === "place") { this._collarTo(this.view.at(event).map((v) => snap(v, this.step))); return; }
    if (!box) return;
    if (mode === "move") { if (box[2] || box[3]) this._moveBy(kind, index, [box[2], box[3], 0]); return; }
    this._size(handle, box);
  }

  _end() { this.drag = null; this.view.ghost(null); this.tell(""); }

  _add(tool, start, [low, high]) {
    const made = drawn(tool, this.view.site, this.view.level, tool === "hole" ? start : low, tool === "hole" ? start : high);
    if (!made.value) { this.tell(made.why); return; }
    this.edit([{ op: "add", table: tool, value: made.value }], `draw ${tool}`, { kind: tool, index: this.view.site[LISTS[tool]].length });
  }

  _collarTo([x, y]) {
    this.edit([0, 1].map((k) => ({ op: "set", path: ["appliance", "collar", k], value: m([x, y][k]) })), "place appliance");
  }

  _moveBy(kind, index, by) {
    const ops = this.moved(kind, index, by);
    if (ops.length) this.edit(ops, `move ${kind}`);
    else this.tell("a gable stands where \"over\" says: change that under Details");
  }

  moved(kind, index, by) {
    const set = (path, value) => ({ op: "set", path, value: m(value) });
    if (kind === "appliance") {
      return [0, 1, 2].filter((k) => by[k]).map((k) => set(["appliance", "collar", k], this.view.site.appliance.collar_m[k] + by[k]));
    }
    const thing = this.view.site[LISTS[kind]][index];
    const raw = this.raw(kind, index);
    const axes = [0, 1, 2].filter((k) => by[k]);
    const shift = (key, values) => axes.map((k) => set([kind, index, key, k], values[k] + by[k]));
    if (raw.corner) return shift("corner", kind === "room" ? extent("room", thing)[0] : thing.corner);
    if (raw.at) return shift("at", thing.at);
    if (raw.floor) return raw.floor.flatMap((_, p) => axes.map((k) => set(["room", index, "floor", p, k], thing.floor[p][k] + by[k])));
    if (raw.ends) return [0, 1].flatMap((end) => axes.map((k) => set([kind, index, "ends", end, k], thing.ends[end][k] + by[k])));
    if (raw.corners) return raw.corners.flatMap((_, p) => axes.map((k) => set([kind, index, "corners", p, k], thing.slopes[0][p][k] + by[k])));
    if (raw.mesh) return [{ op: "set", path: [kind, index, "move"], value: thing.move.map((v, k) => m(v + by[k])) }];
    return [];
  }

  _size(handle, [low, high]) {
    const { kind, index } = this.view.chosen;
    const [what, k] = handle.split(":");
    if (what === "floor") {
      this.edit([0, 1].map((axis) => ({ op: "set", path: ["room", index, "floor", Number(k), axis], value: m(low[axis]) })), "move corner");
      return;
    }
    const old = extent(kind, this.view.site[LISTS[kind]][index]);
    const ops = [];
    for (const axis of [0, 1]) {
      if (Math.abs(low[axis] - old[0][axis]) > 1e-6) ops.push({ op: "set", path: [kind, index, "corner", axis], value: m(low[axis]) });
      const size = high[axis] - low[axis];
      if (Math.abs(size - (old[1][axis] - old[0][axis])) > 1e-6) ops.push({ op: "set", path: [kind, index, "size", axis], value: m(size) });
    }
    if (ops.length) this.edit(ops, `size ${kind}`);
  }

  _key(event) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!way || !this.view.chosen) return;
    event.preventDefault();
    const step = this.step * (event.shiftKey ? (this.units === "metric" ? 10 : 12) : 1);
    const { kind, index } = this.view.chosen;
    this._moveBy(kind, index, [way[0] * step, way[1] * step, 0]);
  }
}
