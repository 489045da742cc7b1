// The 3D view that report and work page share: shapes from a GLB, names and looks from a JSON list.
import * as THREE from "three";
import { GLTFLoader } from "three/examples/jsm/loaders/GLTFLoader.js";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { mergeGeometries, mergeVertices, toCreasedNormals } from "three/examples/jsm/utils/BufferGeometryUtils.js";
import { materialFor } from "./looks.js";
import { Labels } from "./labels.js";

const ROUND = new Set(["pipe", "fitting", "terminal", "hole", "appliance"]);
const SEEN_THROUGH = new Set(["room", "cold_room", "building", "ground", "roof", "zone", "wide_zone", "keep_out"]);
const EDGED = new Set(["room", "cold_room", "building", "roof", "obstacle", "feature", "cut", "keep_out", "zone"]);

export const toScene = ([x, y, z]) => new THREE.Vector3(x, z, -y); // ours is z up, glTF's is y up

export function bytesOf(base64) {
  const text = atob(base64.trim());
  const bytes = new Uint8Array(text.length);
  for (let k = 0; k < text.length; k += 1) bytes[k] = text.charCodeAt(k);
  return bytes.buffer;
}

function drawnInSoftware() {
  const gl = document.createElement("canvas").getContext("webgl2");
  const known = gl?.getExtension("WEBGL_debug_renderer_info");
  const name = known ? gl.getParameter(known.UNMASKED_RENDERER_WEBGL) : "";
  gl?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software|basic render/i.test(name);
}

export class View3D {
  // Throws where the browser has no WebGL: the caller then shows the drawings alone.
  constructor(holder, { onHover = () => {}, onPick = () => {} } = {}) {
    this.holder = holder;
    this.onHover = onHover;
    this.onPick = onPick;
    // smooth edges cost a software renderer most of its time, so it goes without
    this.renderer = new THREE.WebGLRenderer({ antialias: !drawnInSoftware(), preserveDrawingBuffer: true });
    this.coarse = 1; // share of the full sharpness while the view moves
    this.renderer.setClearColor(0xf4f6f8, 1);
    this.canvas = this.renderer.domElement;
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "img");
    holder.append(this.canvas);
    this.labels = new Labels(holder);
    this.world = new THREE.Scene();
    this.camera = new THREE.PerspectiveCamera(38, 1, 0.05, 500);
    this.world.add(new THREE.HemisphereLight(0xffffff, 0x8d949c, 1.9));
    this.sun = new THREE.DirectionalLight(0xffffff, 1.6);
    this.world.add(this.sun);
    this.controls = new OrbitControls(this.camera, this.canvas);
    this.controls.addEventListener("change", () => this.moving());
    this.groups = [];
    this.shapes = new Map();
    this.hidden = new Set();
    this.route = "";
    this.frames = 0;
    this._listen();
    new ResizeObserver(() => this.resize()).observe(holder);
    this.resize();
  }

  async load(base64, data, { keepView = false } = {}) {
    const loaded = await new GLTFLoader().parseAsync(bytesOf(base64), "");
    this._clear();
    this.data = data;
    this.shapes = new Map(data.shapes.map((shape) => [shape.id, { ...shape }]));
    this._build(loaded.scene);
    this.labels.set(data.shapes.filter((shape) => shape.label));
    if (!data.routes.includes(this.route)) this.route = data.routes[0] || "";
    this.canvas.setAttribute("aria-label", `3D view of ${data.name}. Arrow keys turn it, plus and minus zoom, Home resets.`);
    if (!keepView || !this.placed) this.look("corner");
    this.draw();
    this.holder.dataset.ready = String(Number(this.holder.dataset.ready || 0) + 1);
  }

  _clear() {
    for (const group of this.groups) {
      this.world.remove(group.mesh);
      group.mesh.geometry.dispose();
      if (group.lines) { this.world.remove(group.lines); group.lines.geometry.dispose(); }
    }
    this.groups = [];
    this._mark(null);
  }

  // One mesh for all shapes of a look and a route: a thousand parts are a handful of draw calls.
  _build(root) {
    root.updateMatrixWorld(true);
    const bins = new Map();
    root.traverse((node) => {
      if (!node.isMesh) return;
      const shape = this.shapes.get(node.name) || this.shapes.get(node.parent?.name);
      if (!shape) return;
      const plain = new THREE.BufferGeometry();
      plain.setAttribute("position", node.geometry.getAttribute("position"));
      plain.setIndex(node.geometry.getIndex());
      const flat = plain.toNonIndexed().applyMatrix4(node.matrixWorld);
      flat.computeVertexNormals();
      shape.geometry = ROUND.has(shape.look) ? mergeVertices(toCreasedNormals(flat, 0.6), 1e-5) : flat;
      const key = `${shape.look}|${shape.route}`;
      if (!bins.has(key)) bins.set(key, []);
      bins.get(key).push(shape);
    });
    for (const shapes of bins.values()) this._group(shapes);
  }

  _group(shapes) {
    const { look, route } = shapes[0];
    const geometry = mergeGeometries(shapes.map((shape) => shape.geometry));
    const mesh = new THREE.Mesh(geometry, materialFor(this.data.looks[look]));
    const ends = [];
    let faces = 0;
    for (const shape of shapes) {
      faces += (shape.geometry.index ?? shape.geometry.getAttribute("position")).count / 3;
      ends.push(faces);
    }
    const group = { look, route, mesh, shapes, ends, lines: null };
    mesh.renderOrder = SEEN_THROUGH.has(look) ? 2 : 1;
    mesh.userData.group = group;
    this.world.add(mesh);
    if (EDGED.has(look)) {
      const dark = new THREE.Color(this.data.looks[look].colour).multiplyScalar(0.55);
      const ink = new THREE.LineBasicMaterial({ color: dark, transparent: true, opacity: 0.75 });
      group.lines = new THREE.LineSegments(new THREE.EdgesGeometry(geometry, 20), ink);
      this.world.add(group.lines);
    }
    this.groups.push(group);
  }

  shown(group) {
    return !this.hidden.has(group.look) && (group.route === "" || group.route === this.route);
  }

  choose(route) { this.route = route; this._mark(null); this.draw(); }

  toggle(looks, visible) {
    for (const look of looks) visible ? this.hidden.delete(look) : this.hidden.add(look);
    this.draw();
  }

  bounds() {
    const box = new THREE.Box3();
    for (const group of this.groups) {
      if (!this.shown(group) || ["zone", "wide_zone", "ground", "keep_out"].includes(group.look)) continue;
      group.mesh.geometry.computeBoundingBox();
      box.union(group.mesh.geometry.boundingBox);
    }
    return box.isEmpty() ? new THREE.Box3(new THREE.Vector3(), new THREE.Vector3(1, 1, 1)) : box;
  }

  look(name) {
    const from = toScene((this.data?.views || {})[name] || [-0.9, -1.5, 0.9]).normalize();
    const ball = this.bounds().getBoundingSphere(new THREE.Sphere());
    const narrow = Math.min(1, this.camera.aspect);
    const away = (ball.radius * 1.0) / Math.sin((this.camera.fov * Math.PI) / 360) / narrow;
    this.controls.target.copy(ball.center);
    this.camera.position.copy(ball.center).addScaledVector(from, away);
    this.camera.near = away / 200;
    this.camera.far = away * 20;
    this.camera.updateProjectionMatrix();
    this.controls.update();
    this.placed = true;
    this.draw();
  }

  highlight(id) {
    const shape = id && this.shapes.get(id);
    this._mark(shape || null);
    this.draw();
  }

  _mark(shape) {
    if (this.marked) { this.world.remove(this.marked); this.marked = null; }
    if (!shape?.geometry) return;
    const ink = new THREE.MeshBasicMaterial({ color: 0xf0e442, depthTest: false, transparent: true, opacity: 0.85 });
    this.marked = new THREE.Mesh(shape.geometry, ink);
    this.marked.renderOrder = 5;
    this.world.add(this.marked);
  }

  at(clientX, clientY) {
    const frame = this.canvas.getBoundingClientRect();
    const spot = new THREE.Vector2(
      ((clientX - frame.left) / frame.width) * 2 - 1, 1 - ((clientY - frame.top) / frame.height) * 2);
    const ray = new THREE.Raycaster();
    ray.setFromCamera(spot, this.camera);
    const meshes = this.groups.filter((group) => this.shown(group)).map((group) => group.mesh);
    const hits = ray.intersectObjects(meshes, false);
    const hit = hits.find(({ object }) => !SEEN_THROUGH.has(object.userData.group.look)) || hits.find(
      ({ object }) => !["building", "ground", "wide_zone"].includes(object.userData.group.look));
    if (!hit) return null;
    const group = hit.object.userData.group;
    return group.shapes[group.ends.findIndex((end) => hit.faceIndex < end)];
  }

  // Where a shape is on the page, in client coordinates: for tests, and for labels.
  placeOf(id) {
    const shape = this.shapes.get(id);
    if (!shape?.geometry) return null;
    shape.geometry.computeBoundingBox();
    return this.project(shape.geometry.boundingBox.getCenter(new THREE.Vector3()));
  }

  project(point) {
    const frame = this.canvas.getBoundingClientRect();
    const seen = point.clone().project(this.camera);
    return { x: frame.left + ((seen.x + 1) / 2) * frame.width, y: frame.top + ((1 - seen.y) / 2) * frame.height,
      behind: seen.z > 1 };
  }

  _listen() {
    let waiting = null;
    this.canvas.addEventListener("pointermove", (event) => {
      const first = waiting === null;
      waiting = event;
      if (first) requestAnimationFrame(() => {
        if (!waiting) return;
        const shape = waiting.buttons ? null : this.at(waiting.clientX, waiting.clientY);
        this.onHover(shape, waiting);
        waiting = null;
      });
    });
    this.canvas.addEventListener("pointerleave", () => { waiting = null; this.onHover(null, null); });
    let down = null;
    this.canvas.addEventListener("pointerdown", (event) => { down = [event.clientX, event.clientY]; });
    this.canvas.addEventListener("pointerup", (event) => {
      if (down && Math.hypot(event.clientX - down[0], event.clientY - down[1]) < 5) {
        this.onPick(this.at(event.clientX, event.clientY), event);
      }
    });
    this.canvas.addEventListener("keydown", (event) => this._key(event));
  }

  _key(event) {
    const turn = { ArrowLeft: [-0.15, 0], ArrowRight: [0.15, 0], ArrowUp: [0, -0.12], ArrowDown: [0, 0.12] }[event.key];
    const zoom = { "+": 0.85, "=": 0.85, "-": 1.18 }[event.key];
    if (!turn && !zoom && event.key !== "Home") return;
    event.preventDefault();
    if (event.key === "Home") { this.look("corner"); return; }
    const arm = new THREE.Spherical().setFromVector3(this.camera.position.clone().sub(this.controls.target));
    if (turn) { arm.theta += turn[0]; arm.phi += turn[1]; }
    if (zoom) arm.radius *= zoom;
    arm.makeSafe();
    this.camera.position.copy(this.controls.target).add(new THREE.Vector3().setFromSpherical(arm));
    this.controls.update();
    this.draw();
  }

  resize() {
    const { clientWidth: width, clientHeight: height } = this.holder;
    if (!width || !height) return;
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.holder.style.setProperty("--aspect", String(width / height));
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => { this.asked = 0; this.drawNow(); });
  }

  // While the view turns, a slow machine draws it less sharp; sharp again as soon as it rests.
  moving() {
    const now = performance.now();
    const last = now - (this.moved || 0);
    this.moved = now;
    if (last < 500) {
      const step = last > 45 ? 0.85 : last < 24 ? 1.06 : 1;
      this._sharpness(Math.min(1, Math.max(0.35, this.coarse * step)));
    }
    clearTimeout(this.resting);
    this.resting = setTimeout(() => { const kept = this.coarse; this._sharpness(1); this.coarse = kept; this.moved = 0; this.draw(); }, 250);
    this.draw();
  }

  _sharpness(share) {
    this.coarse = share;
    const ratio = Math.min(window.devicePixelRatio || 1, 2) * share;
    if (Math.abs(ratio - this.renderer.getPixelRatio()) > 0.04) this.renderer.setPixelRatio(ratio);
  }

  drawNow() {
    for (const group of this.groups) {
      group.mesh.visible = this.shown(group);
      if (group.lines) group.lines.visible = group.mesh.visible;
    }
    this.sun.position.copy(this.camera.position).add(new THREE.Vector3(2, 6, 1));
    this.renderer.render(this.world, this.camera);
    this.labels.place((label) => this.project(toScene(label)), (shape) => this.shown(shape), this.canvas.getBoundingClientRect());
    this.frames += 1;
    this.holder.dataset.drawn = String(this.frames);
  }
}
