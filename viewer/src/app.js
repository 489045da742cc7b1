// One bundle for both pages; the page says which it is.
import { startReport } from "./report.js";
import { startWork } from "./work.js";

const starts = { report: startReport, work: startWork };
const start = () => starts[document.body.dataset.page]?.();
if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", start);
else start();
