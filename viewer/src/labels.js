// Names written over the 3D view; a name that would cover another is left out until there is room.
import { brief } from "./lengths.js";

export class Labels {
  constructor(holder) {
    this.layer = document.createElement("div");
    this.layer.className = "labels";
    this.layer.setAttribute("aria-hidden", "true"); // the same names are in the list of things
    holder.append(this.layer);
    this.items = [];
    this.on = true;
  }

  set(shapes) {
    this.layer.replaceChildren();
    const first = { terminal: 0, appliance: 1, hole: 2, cut: 3, feature: 4, obstacle: 5, keep_out: 6 };
    const order = (shape) => first[shape.look] ?? 7;
    this.items = [...shapes].sort((a, b) => order(a) - order(b)).map((shape) => {
      const tag = document.createElement("span");
      tag.textContent = shape.look === "terminal" ? "terminal" : brief(shape.name);
      tag.dataset.look = shape.look;
      this.layer.append(tag);
      return { shape, tag };
    });
  }

  place(project, shown, frame) {
    const taken = [];
    for (const { shape, tag } of this.items) {
      const { x, y, behind } = project(shape.label);
      const wide = tag.textContent.length * 6.6 + 12;
      const box = [x - frame.left - wide / 2, y - frame.top - 9, x - frame.left + wide / 2, y - frame.top + 9];
      const out = behind || box[0] < 0 || box[1] < 0 || box[2] > frame.width || box[3] > frame.height;
      const hit = taken.some((other) => box[0] < other[2] && other[0] < box[2] && box[1] < other[3] && other[1] < box[3]);
      const seen = this.on && !out && !hit && shown(shape);
      tag.hidden = !seen;
      if (!seen) continue;
      taken.push(box);
      // in shares of the picture, so that they stay in place when it is printed at another size
      tag.style.left = `${((x - frame.left) / frame.width) * 100}%`;
      tag.style.top = `${((y - frame.top) / frame.height) * 100}%`;
    }
  }
}
