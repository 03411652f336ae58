// Lets a hand or the arrow keys move the corners of an outline; the text field holds the truth.
// There y runs up, on the screen down from the origin.
"use strict";

(() => {
  const drawing = document.querySelector("svg.outline");
  const form = document.getElementById("outline-form");
  if (!drawing || !form) return;

  const SVG = "http://www.w3.org/2000/svg";
  const field = form.elements.corners;
  const per = Number(drawing.dataset.perUnit); // inches in one unit of the field
  const KEY_STEP_IN = per === 1 ? 1 / 16 : per / 10;
  const REACH_PX = 22; // a finger's width across
  const DOT_PX = 6;
  const LOUPE_PX = 128;
  const LOUPE_TIMES = 3;
  const [left, top] = drawing.dataset.origin.split(" ").map(Number);
  const corners = drawing.dataset.handles.split(" ").map(Number);
  const group = drawing.querySelector(".handles");
  const details = form.querySelector("details");

  const read = () => field.value.trim().split("\n").map((line) => {
    const [x, y] = line.split(",").map((part) => Number(part) * per);
    return [x - left, top - y];
  });
  let points = read();
  // Holes stay as they are: everything after the outer ring of each path.
  const holes = drawing.querySelector(".line").getAttribute("d").split("M").slice(2);

  const write = () => {
    field.value = points.map(([x, y]) => `${((x + left) / per).toFixed(3)}, ${((top - y) / per).toFixed(3)}`).join("\n");
  };

  const perInch = () => drawing.getScreenCTM().a; // pixels of the screen

  const draw = () => {
    const ring = `M${points.map(([x, y]) => `${x.toFixed(3)} ${y.toFixed(3)}`).join("L")}Z`;
    const path = [ring, ...holes.map((hole) => `M${hole}`)].join(" ");
    drawing.querySelectorAll(".border").forEach((border) => border.setAttribute("d", path));
    group.querySelectorAll("g").forEach((handle, order) => {
      const [x, y] = points[corners[order]];
      handle.setAttribute("transform", `translate(${x} ${y}) scale(${1 / perInch()})`);
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

  // Under a finger the corner is not to be seen: it is shown larger, beside the drawing.
  const loupe = document.getElementById("loupe");
  const look = ([x, y], event) => {
    const wide = LOUPE_PX / (LOUPE_TIMES * perInch());
    loupe.setAttribute("viewBox", `${x - wide / 2} ${y - wide / 2} ${wide} ${wide}`);
    const arm = wide / 16;
    loupe.querySelectorAll("path").forEach((cross) => cross.setAttribute("d", `M${x - arm} ${y}h${2 * arm}M${x} ${y - arm}v${2 * arm}`));
    loupe.style.left = `${Math.min(Math.max(event.clientX - LOUPE_PX / 2, 4), innerWidth - LOUPE_PX - 4)}px`;
    // Over the drawing or under it, never on it.
    const box = drawing.getBoundingClientRect();
    const over = box.top - LOUPE_PX - 6;
    loupe.style.top = `${over > 4 ? over : Math.min(box.bottom + 6, innerHeight - LOUPE_PX - 4)}px`;
    loupe.removeAttribute("hidden");
  };

  // Where cloth ends on the picture: what lies round the scrap is the backing, and an edge is where
  // its colour ends, not where a print changes.
  const snap = document.getElementById("snap");
  const edges = (() => {
    const picture = drawing.querySelector("#outline-cloth image");
    let pixels = null;
    const read = async () => {
      const image = new Image();
      image.src = picture.getAttribute("href");
      await image.decode();
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [image.naturalWidth, image.naturalHeight];
      const pen = canvas.getContext("2d");
      pen.drawImage(image, 0, 0);
      pixels = pen.getImageData(0, 0, canvas.width, canvas.height);
      pixels.backing = rim(pixels);
    };
    const rim = ({ data, width, height }) => [0, 1, 2].map((channel) => {
      const seen = [];
      for (let x = 0; x < width; x += 1) for (const y of [0, height - 1]) seen.push(data[4 * (y * width + x) + channel]);
      for (let y = 0; y < height; y += 1) for (const x of [0, width - 1]) seen.push(data[4 * (y * width + x) + channel]);
      return seen.sort((one, other) => one - other)[seen.length >> 1];
    });
    const away = (x, y) => {
      const { data, width, height, backing } = pixels;
      const at = 4 * (Math.min(Math.max(y, 0), height - 1) * width + Math.min(Math.max(x, 0), width - 1));
      return Math.min(1, backing.reduce((sum, one, channel) => sum + Math.abs(data[at + channel] - one), 0) / 120);
    };
    const near = ([x, y], reach) => {
      if (!pixels) return [x, y];
      const [px, py, wide] = ["x", "y", "width"].map((name) => Number(picture.getAttribute(name)));
      const scale = pixels.width / wide;
      const [cx, cy] = [Math.round((x - px) * scale), Math.round((y - py) * scale)];
      const far = Math.max(2, Math.round(reach * scale));
      let [best, found] = [0.35, [x, y]]; // weaker is no edge of cloth
      for (let v = cy - far; v <= cy + far; v += 1) {
        for (let u = cx - far; u <= cx + far; u += 1) {
          const apart = Math.hypot(u - cx, v - cy) / far;
          if (apart > 1) continue;
          const steep = Math.hypot(away(u + 2, v) - away(u - 2, v), away(u, v + 2) - away(u, v - 2)) * (1 - 0.5 * apart);
          if (steep > best) [best, found] = [steep, [px + u / scale, py + v / scale]];
        }
      }
      return found;
    };
    if (picture) read().catch(() => { pixels = null; });
    return { near };
  })();

  const makeHandle = (order) => {
    const handle = document.createElementNS(SVG, "g");
    for (const [kind, radius] of [["reach", REACH_PX], ["dot", DOT_PX]]) {
      const circle = document.createElementNS(SVG, "circle");
      circle.setAttribute("r", radius);
      circle.setAttribute("class", kind);
      handle.append(circle);
    }
    handle.setAttribute("tabindex", "0");
    handle.setAttribute("role", "button");
    handle.setAttribute("aria-label", `Corner ${order + 1} of ${corners.length}, arrow keys move it`);
    let last = null;
    // Part of a drawing cannot say that it does not scroll; the touch itself can.
    handle.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
    handle.addEventListener("pointerdown", (event) => {
      last = place(event);
      handle.setPointerCapture(event.pointerId);
      event.preventDefault();
      handle.focus();
      look(points[corners[order]], event);
    });
    handle.addEventListener("pointermove", (event) => {
      if (!last) return;
      const now = place(event);
      move(order, now.x - last.x, now.y - last.y);
      last = now;
      look(points[corners[order]], event);
    });
    handle.addEventListener("pointerup", () => {
      if (last && snap && snap.checked) {
        const [x, y] = points[corners[order]];
        const [nx, ny] = edges.near([x, y], REACH_PX / perInch());
        move(order, nx - x, ny - y);
      }
    });
    for (const end of ["pointerup", "pointercancel"]) {
      handle.addEventListener(end, () => { last = null; loupe.setAttribute("hidden", ""); });
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
    drawing.setAttribute("role", drawing.querySelector("[tabindex]") ? "group" : "img");
    draw();
  };

  form.querySelectorAll(".with-script").forEach((part) => { part.hidden = false; });
  details.addEventListener("toggle", (event) => { if (event.target === details) show(); });
  addEventListener("resize", draw);
  form.addEventListener("reset", () => setTimeout(() => { points = read(); draw(); }));
  field.addEventListener("change", () => {
    const typed = read();
    if (typed.length === points.length && typed.every((point) => point.every(Number.isFinite))) {
      points = typed;
      draw();
    }
  });
})();
