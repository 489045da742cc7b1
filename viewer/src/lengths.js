// Lengths as they are read on a tape. What people type is read by the server, by the same rules as the file.
const INCH = 0.0254;

export function said(metres, units) {
  if (units === "metric") return `${metres.toFixed(3)} m`;
  const count = Math.round((Math.abs(metres) / INCH) * 16);
  const feet = Math.floor(count / 192);
  const rest = count - feet * 192;
  const whole = Math.floor(rest / 16);
  let [top, bottom] = [rest % 16, 16];
  while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
  const inches = [whole || !top ? String(whole) : "", top ? `${top}/${bottom}` : ""].filter(Boolean).join(" ");
  const sign = metres < 0 && count ? "-" : "";
  const parts = [feet ? `${feet} ft` : "", rest || !feet ? `${inches} in` : ""].filter(Boolean);
  return sign + parts.join(" ");
}

export const brief = (text, most = 26) => (text.length > most ? `${text.slice(0, most - 1).trimEnd()}…` : text);
export const snapStep = (units) => (units === "metric" ? 0.01 : INCH);
export const snap = (metres, step) => Math.round(metres / step) * step;
// A typed number without a unit stays a number: it is in the file's own units.
export const typed = (text) => (/^\s*[-+]?\d+(\.\d+)?\s*$/.test(text) ? Number(text) : text.trim());
