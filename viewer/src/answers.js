// Routes, findings and bill. The tables come as markup that the server has escaped.
import { element } from "./fields.js";

export function showAnswer(state, choose) {
  const { answer } = state;
  const box = document.getElementById("routes");
  const rows = answer.routes.map((route) => {
    const words = `${route.equivalent} of ${route.limit}`;
    const gauge = element("meter", { class: "gauge", min: 0, max: 1, high: 0.9, value: route.share ?? 0, "aria-label": `${words} allowed` });
    return element("button", { type: "button", "data-route": route.id, "aria-pressed": String(route.id === state.route), on: { click: () => choose(route.id) } },
      element("b", {}, route.name), element("span", {}, route.cost ? `cost ${route.cost}` : ""),
      element("span", { class: "equivalent" }, words), element("span", {}, `${route.elbows} elbows`),
      gauge, element("small", {}, [route.reason, route.asks ? `${route.asks} question${route.asks === 1 ? "" : "s"} for you` : ""].filter(Boolean).join("; ")));
  });
  if (!rows.length) rows.push(element("p", { class: "state none" }, "No compliant route. Below is what came nearest."));
  box.replaceChildren(...rows);
  const route = answer.routes.find((one) => one.id === state.route);
  const about = document.getElementById("about");
  about.innerHTML = (route ? route[state.tab] : "") + (state.tab === "findings" ? answer.rejected : "");
  for (const button of about.querySelectorAll("button.show")) {
    button.addEventListener("click", () => window.ventroute.view?.highlight(button.dataset.shape));
  }
}
