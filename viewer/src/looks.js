// Colours and patterns. A pattern is cut out in screen space, so it needs no texture and reads at every distance.
import * as THREE from "three";

const CUTS = {
  hatch: "if (mod(gl_FragCoord.x + gl_FragCoord.y, 12.0) > 5.0) discard;",
  lines: "if (mod(gl_FragCoord.x - gl_FragCoord.y, 22.0) > 1.6) discard;",
  dots: "if (length(mod(gl_FragCoord.xy, 12.0) - 6.0) > 4.2) discard;",
};

export function materialFor(look) {
  const clear = look.opacity < 1;
  const material = new THREE.MeshLambertMaterial({
    color: look.colour, transparent: clear, opacity: look.opacity,
    forceSinglePass: true, depthWrite: look.opacity > 0.5, side: clear ? THREE.DoubleSide : THREE.FrontSide,
  });
  const cut = CUTS[look.pattern];
  if (cut) {
    material.onBeforeCompile = (shader) => {
      shader.fragmentShader = shader.fragmentShader.replace("void main() {", `void main() {\n${cut}`);
    };
    material.customProgramCacheKey = () => look.pattern;
  }
  return material;
}

// The same look as a small SVG swatch for the key.
export function swatch(look) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("viewBox", "0 0 22 16");
  svg.setAttribute("class", "swatch");
  svg.setAttribute("aria-hidden", "true");
  const add = (name, attributes) => {
    const node = document.createElementNS(space, name);
    for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
    svg.append(node);
  };
  const strong = Math.max(look.opacity, 0.35);
  if (look.pattern === "hatch") {
    for (let x = -14; x < 22; x += 6) add("path", { d: `M${x} 16 L${x + 16} 0`, stroke: look.colour, "stroke-width": 2.6 });
  } else if (look.pattern === "lines") {
    for (let x = 0; x < 40; x += 9) add("path", { d: `M${x} 16 L${x - 16} 0`, stroke: look.colour, "stroke-width": 1.2 });
  } else if (look.pattern === "dots") {
    for (let x = 4; x < 22; x += 7) for (let y = 4; y < 16; y += 8) add("circle", { cx: x, cy: y, r: 2.4, fill: look.colour });
  } else if (look.pattern !== "outline") {
    add("rect", { x: 0, y: 0, width: 22, height: 16, fill: look.colour, "fill-opacity": strong });
  }
  add("rect", { x: 0.75, y: 0.75, width: 20.5, height: 14.5, fill: "none", stroke: "#333", "stroke-width": 1.2 });
  return svg;
}
