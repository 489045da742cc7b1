// The report page: 3D view, routes to switch between, parts named.
import { View3D } from "./scene3d.js";
import { fillKey } from "./key.js";

const text = (id) => document.getElementById(id).textContent;

export async function startReport() {
  const data = JSON.parse(text("scene-data"));
  const articles = [...document.querySelectorAll("article[data-route]")];
  const holder = document.getElementById("view3d");
  const tip = holder.querySelector(".tip");
  let view = null;

  const show = (route) => {
    for (const article of articles) article.hidden = article.dataset.route !== route;
    view?.choose(route);
    document.body.dataset.route = route;
  };
  for (const choice of document.querySelectorAll("input[name=route]")) {
    choice.addEventListener("change", () => show(choice.value));
    if (choice.checked) show(choice.value);
  }

  try {
    view = new View3D(holder, {
      onHover: (shape) => {
        tip.textContent = shape ? `${shape.name}: ${shape.description}` : "";
        if (!shape || shape.look === "pipe" || shape.look === "fitting" || shape.look === "terminal") view.highlight(shape?.id);
      },
      onPick: (shape) => mark(shape),
    });
    await view.load(text("scene-glb"), data);
    if (document.body.dataset.route) view.choose(document.body.dataset.route);
  } catch (problem) {
    console.info("no 3D view:", problem.message);
    holder.hidden = true;
    document.querySelector(".no-3d").hidden = false;
    for (const bar of document.querySelectorAll(".bar, #key")) bar.hidden = true;
    document.body.dataset.ready = "flat";
    return;
  }

  fillKey(document.getElementById("key"), data, view);
  for (const button of document.querySelectorAll("[data-view]")) {
    button.addEventListener("click", () => view.look(button.dataset.view));
  }
  for (const button of document.querySelectorAll("button.show")) {
    const shape = data.shapes.find(({ id }) => id === button.dataset.shape);
    if (!shape) continue;
    const point = () => { view.highlight(shape.id); tip.textContent = `${shape.name}: ${shape.description}`; };
    button.addEventListener("click", () => { point(); holder.scrollIntoView({ block: "center" }); });
    button.addEventListener("focus", point);
  }
  window.addEventListener("beforeprint", () => view.drawNow());
  window.ventroute = view;
  document.body.dataset.ready = "3d";

  function mark(shape) {
    const button = shape && document.querySelector(`button[data-shape="${shape.id}"]`);
    for (const row of document.querySelectorAll("tr.marked")) row.classList.remove("marked");
    if (button) button.closest("tr").classList.add("marked");
  }
}
