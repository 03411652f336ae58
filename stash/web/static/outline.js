// Lets a hand or the arrow keys move the corners of an outline; the text field holds the truth.
// There y runs up, on the screen down from the origin.
"use strict";

(() => {
  const drawing = document.querySelector("svg.outline");
  const form = document.getElementById("outline-form");
  if (!drawing || !form) return;

  const SVG = "http://www.w3.org/2000/svg";
  const KEY_STEP_IN = 1 / 16;
  const field = form.elements.corners;
  const [left, top] = drawing.dataset.origin.split(" ").map(Number);
  const corners = drawing.dataset.handles.split(" ").map(Number);
  const group = drawing.querySelector(".handles");
  const details = form.querySelector("details");

  const read = () => field.value.trim().split("\n").map((line) => {
    const [x, y] = line.split(",").map(Number);
    return [x - left, top - y];
  });
  let points = read();
  // Holes stay as they are: everything after the outer ring of each path.
  const holes = drawing.querySelector(".line").getAttribute("d").split("M").slice(2);

  const write = () => {
    field.value = points.map(([x, y]) => `${(x + left).toFixed(3)}, ${(top - y).toFixed(3)}`).join("\n");
  };

  const draw = () => {
    const ring = `M${points.map(([x, y]) => `${x.toFixed(3)} ${y.toFixed(3)}`).join("L")}Z`;
    const path = [ring, ...holes.map((hole) => `M${hole}`)].join(" ");
    drawing.querySelectorAll(".border").forEach((border) => border.setAttribute("d", path));
    group.querySelectorAll("g").forEach((handle, order) => {
      const [x, y] = points[corners[order]];
      handle.setAttribute("transform", `translate(${x} ${y})`);
    });
  };

  // A moved corner takes the points towards its neighbours along, less the farther they are.
  const move = (order, dx, dy) => {
    const count = points.length;
    const here = corners[order];
    points[here] = [points[here][0] + dx, points[here][1] + dy];
    for (const way of [1, -1]) {
      const next = corners[(order + way + corners.length) % corners.length];
      const gap = (((next - here) * way) % count + count) % count || count;
      for (let step = 1; step < gap; step += 1) {
        const index = ((here + way * step) % count + count) % count;
        const share = 1 - step / gap;
        points[index] = [points[index][0] + share * dx, points[index][1] + share * dy];
      }
    }
    write();
    draw();
  };

  const place = (event) => {
    const spot = new DOMPoint(event.clientX, event.clientY);
    return spot.matrixTransform(drawing.getScreenCTM().inverse());
  };

  const makeHandle = (order) => {
    const handle = document.createElementNS(SVG, "g");
    const size = drawing.viewBox.baseVal.width / 60;
    for (const [kind, radius] of [["reach", 2.4 * size], ["dot", size]]) {
      const circle = document.createElementNS(SVG, "circle");
      circle.setAttribute("r", radius);
      circle.setAttribute("class", kind);
      handle.append(circle);
    }
    handle.setAttribute("tabindex", "0");
    handle.setAttribute("role", "button");
    handle.setAttribute("aria-label", `Corner ${order + 1} of ${corners.length}, arrow keys move it`);
    let last = null;
    handle.addEventListener("pointerdown", (event) => {
      last = place(event);
      handle.setPointerCapture(event.pointerId);
      event.preventDefault();
      handle.focus();
    });
    handle.addEventListener("pointermove", (event) => {
      if (!last) return;
      const now = place(event);
      move(order, now.x - last.x, now.y - last.y);
      last = now;
    });
    for (const end of ["pointerup", "pointercancel"]) {
      handle.addEventListener(end, () => { last = null; });
    }
    handle.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!way) return;
      event.preventDefault();
      move(order, way[0] * KEY_STEP_IN, way[1] * KEY_STEP_IN);
    });
    return handle;
  };

  const show = () => {
    group.replaceChildren(...(details.open ? corners.map((_, order) => makeHandle(order)) : []));
    // A picture has no parts for a screen reader; while it is mended it is a group of corners.
    drawing.setAttribute("role", details.open ? "group" : "img");
    draw();
  };

  details.addEventListener("toggle", show);
  form.addEventListener("reset", () => setTimeout(() => { points = read(); draw(); }));
  field.addEventListener("change", () => {
    const typed = read();
    if (typed.length === points.length && typed.every((point) => point.every(Number.isFinite))) {
      points = typed;
      draw();
    }
  });
})();
