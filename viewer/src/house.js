// The house as the plan shows it: boxes in plan, which level they are seen on, and what to write for a new one.
export const LISTS = { room: "rooms", hole: "holes", cut: "cuts", obstacle: "obstacles", feature: "features", keep_out: "keep_outs",
  roof: "roofs_written", framing: "framing" };

// Roofs as they stand in the file: a gable is one roof there, and two slopes in the house.
export function withRoofs(site, document) {
  let next = 0;
  const written = (document.roof || []).map(({ name, gable }) => {
    const slopes = site.roofs.slice(next, (next += gable ? 2 : 1));
    return { name, slopes: slopes.map((slope) => slope.corners) };
  });
  return { ...site, roofs_written: written.filter((roof) => roof.slopes.length) };
}

// The way a slope falls in plan, a unit vector.
export function fall([a, b, c]) {
  const [u, v] = [b.map((p, k) => p - a[k]), c.map((p, k) => p - a[k])];
  const normal = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
  const flat = Math.hypot(normal[0], normal[1]);
  return flat < 1e-9 ? [0, 0] : [0, 1].map((k) => (normal[k] / flat) * Math.sign(normal[2]));
}

// Middles of the members along one side of their box, by the rule that the planner has: side by side along the longer way.
export function members({ corner, size, runs, spacing_m, offset_m }) {
  const ways = [0, 1, 2].filter((k) => Math.abs(runs[k]) < 0.5);
  const side = ways.reduce((best, k) => (Math.abs(size[k]) > Math.abs(size[best]) ? k : best));
  const low = Math.min(corner[side], corner[side] + size[side]);
  const at = [];
  for (let p = low + offset_m; p <= low + Math.abs(size[side]) + 1e-9 && at.length < 500; p += spacing_m) at.push(p);
  return { side, at };
}

// Least and greatest x, y, z of a thing, and its outline in plan.
export function extent(kind, thing) {
  if (kind === "room") {
    const xs = thing.floor.map((p) => p[0]);
    const ys = thing.floor.map((p) => p[1]);
    const top = thing.top_m ?? thing.bottom_m + 2.4;
    return [[Math.min(...xs), Math.min(...ys), thing.bottom_m], [Math.max(...xs), Math.max(...ys), top]];
  }
  if (kind === "hole") {
    const r = thing.clear_m / 2;
    const long = 0.2;
    const half = [0, 1, 2].map((k) => Math.max(r * Math.sqrt(Math.max(0, 1 - thing.axis[k] ** 2)), Math.abs(thing.axis[k]) * long));
    return [thing.at.map((v, k) => v - half[k]), thing.at.map((v, k) => v + half[k])];
  }
  if (kind === "roof") {
    const spots = thing.slopes.flat();
    return [Math.min, Math.max].map((most) => [0, 1, 2].map((k) => most(...spots.map((p) => p[k]))));
  }
  if (thing.corner && thing.size) return [thing.corner, thing.corner.map((v, k) => v + thing.size[k])];
  if (thing.ends) {
    const r = thing.diameter_m / 2;
    return [0, 1].map((side) => [0, 1, 2].map((k) => (side ? Math.max : Math.min)(thing.ends[0][k], thing.ends[1][k]) + (side ? r : -r)));
  }
  return null;
}

export function levels(site) {
  const found = [];
  for (const room of site.rooms) {
    const same = found.find((level) => Math.abs(level.bottom - room.bottom_m) < 0.6);
    if (same) same.names.push(room.name);
    else found.push({ bottom: room.bottom_m, names: [room.name] });
  }
  found.sort((a, b) => a.bottom - b.bottom);
  found.forEach((level, k) => { level.top = found[k + 1]?.bottom ?? level.bottom + 4; });
  if (found.length) found[found.length - 1].last = true;
  return found;
}

export const onLevel = (kind, thing, level) => {
  const box = extent(kind, thing);
  const middle = box && (box[0][2] + box[1][2]) / 2;
  if (kind === "roof") return middle > level.bottom && (level.last || middle <= level.top); // over what it covers, not under
  return box && box[0][2] < level.top - 0.01 && box[1][2] > level.bottom - 0.35;
};

const inside = (room, x, y) => {
  let odd = false;
  const floor = room.floor;
  for (let k = 0, j = floor.length - 1; k < floor.length; j = k, k += 1) {
    const [ax, ay] = floor[k];
    const [bx, by] = floor[j];
    if ((ay > y) !== (by > y) && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) odd = !odd;
  }
  return odd;
};

const roomAt = (site, x, y, level) =>
  site.rooms.find((room) => inside(room, x, y) && room.bottom_m < level.top && (room.top_m ?? 1e9) > level.bottom + 0.3);

// The two spaces on either side of a point of a wall, and the way from one to the other; or of a ceiling.
export function between(site, x, y, level) {
  const below = roomAt(site, x, y, level);
  if (below) {
    const top = below.top_m ?? below.bottom_m + 2.4;
    const above = site.rooms.filter((room) => inside(room, x, y) && room.bottom_m >= top - 0.01).sort((a, b) => a.bottom_m - b.bottom_m)[0];
    return { axis: "up", through: [below.name, above ? above.name : "outdoors"], z: above ? (top + above.bottom_m) / 2 : top + 0.1 };
  }
  const middle = level.bottom + 1.5;
  for (let step = 0.05; step < 0.8; step += 0.05) {
    for (const [dx, dy, axis] of [[1, 0, "east"], [-1, 0, "west"], [0, 1, "north"], [0, -1, "south"]]) {
      const from = roomAt(site, x - dx * step, y - dy * step, level);
      if (!from) continue;
      const to = [0.1, 0.2, 0.3, 0.45, 0.6].map((d) => roomAt(site, x + dx * d, y + dy * d, level)).find(Boolean);
      if (to && to !== from) return { axis, through: [from.name, to.name], z: middle };
      if (!roomAt(site, x + dx * 0.6, y + dy * 0.6, level)) return { axis, through: [from.name, "outdoors"], z: Math.min(middle, (from.top_m ?? middle + 1) - 0.3) };
    }
  }
  return null;
}

export function freshName(site, kind, word) {
  const taken = new Set(site[LISTS[kind]].map((thing) => thing.name));
  let n = site[LISTS[kind]].length + 1;
  while (taken.has(`${word} ${n}`)) n += 1;
  return `${word} ${n}`;
}

const m = (value) => ({ m: value });

// What a box drawn on the plan becomes: a value for the file, or null with a reason.
export function drawn(kind, site, level, low, high) {
  const [x, y] = low;
  const [w, d] = [high[0] - low[0], high[1] - low[1]];
  const [cx, cy] = [x + w / 2, y + d / 2];
  const box = (bottom, tall) => ({ corner: [m(x), m(y), m(bottom)], size: [m(w), m(d), m(tall)] });
  const room = roomAt(site, cx, cy, level);
  const top = room?.top_m ?? level.bottom + 2.4;
  if (kind === "hole") {
    const way = between(site, cx, cy, level);
    if (!way) return { why: "a hole joins two spaces: click in a room for its ceiling, or on a wall" };
    return { value: { name: freshName(site, "hole", "hole"), at: [m(cx), m(cy), m(way.z)], axis: way.axis, clear: "6 in", through: way.through } };
  }
  if (w < 0.02 || d < 0.02) return { why: "drag to draw a box" };
  if (kind === "room") {
    const near = site.rooms.find((other) => Math.abs(other.bottom_m - level.bottom) < 0.6 && other.top_m !== null);
    const tall = near ? near.top_m - near.bottom_m : 2.4384;
    return { value: { name: freshName(site, "room", "room"), ...box(near ? near.bottom_m : level.bottom, tall), air: "heated" } };
  }
  if (kind === "cut") {
    const way = between(site, cx, cy, level);
    if (!way) return { why: "a cut joins two spaces: draw it across a wall, or in a room for its ceiling" };
    const flat = way.axis === "up";
    const bottom = flat ? way.z - 0.15 : Math.max(level.bottom + 0.1, way.z - 0.3);
    return { value: { name: freshName(site, "cut", "cut"), through: way.through, ...box(bottom, flat ? 0.3 : 0.6), axis: way.axis, cost: 0 } };
  }
  if (kind === "roof") {
    const eave = Math.max(...site.rooms.map((one) => one.top_m ?? one.bottom_m)) + 0.3048;
    const gable = { over: [[m(x), m(y)], [m(high[0]), m(high[1])]], ridge: w >= d ? "east" : "north", eave: m(eave), pitch: "6/12", overhang: "12 in" };
    return { value: { name: freshName(site, "roof", "roof"), gable, thickness: "8 in" } };
  }
  if (kind === "framing") {
    const shape = box(top, 0.23495);
    return { value: { name: freshName(site, "framing", "joists"), kind: "joist", ...shape, runs: w >= d ? "north" : "east", spacing: "16 in", offset: "16 in", width: "1 1/2 in", depth: "9 1/4 in" } };
  }
  if (kind === "feature") return { value: { kind: "window, openable", name: freshName(site, "feature", "window"), ...box(level.bottom + 0.9144, 1.2192) } };
  if (kind === "keep_out") return { value: { name: freshName(site, "keep_out", "keep out"), applies: "terminal", ...box(Math.max(level.bottom, site.place.grade_m), 2.4384) } };
  return { value: { name: freshName(site, "obstacle", "obstacle"), ...box(Math.max(level.bottom, top - 0.3556), 0.254) } };
}
