// Lets a finger, a mouse or the keys set corners on a picture; the text field holds the truth.
"use strict";

(() => {
  const SVG = "http://www.w3.org/2000/svg";
  // How well a corner is hit, in pixels of the screen.
  const FINGER = 4;
  const MOUSE = 1.5;
  const KEYS = 1;
  const STEP = 8;
  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

  const make = (kind, parent, values = {}) => {
    const made = document.createElementNS(SVG, kind);
    Object.entries(values).forEach(([name, value]) => made.setAttribute(name, value));
    parent.append(made);
    return made;
  };

  const tapping = (form) => {
    const drawing = document.getElementById(form.dataset.drawing);
    const details = form.querySelector("details");
    const field = form.querySelector("[data-corners]");
    const told = form.querySelector("[data-told]");
    const hit = form.elements.hit;
    const [left, top] = form.dataset.origin.split(" ").map(Number);
    const digits = Number(form.dataset.digits);
    const per = Number(form.dataset.perUnit || 1); // of the drawing's units in one of the field's
    // Inches of the table run up, pixels of a photo down as on the screen.
    const down = form.dataset.upwards ? -1 : 1;
    const whole = drawing.getAttribute("viewBox");
    const role = drawing.getAttribute("role");
    const layer = make("g", drawing, { class: "taps" });
    let corners = [];
    let cross = null;

    form.querySelectorAll(".with-script").forEach((part) => { part.hidden = false; });

    const box = () => drawing.viewBox.baseVal;
    // Units of the drawing to one pixel of the screen; zooming with two fingers counts.
    const unit = () => 1 / drawing.getScreenCTM().a;
    const fine = () => unit() / (window.visualViewport ? window.visualViewport.scale : 1);
    const place = (event) => {
      const spot = new DOMPoint(event.clientX, event.clientY);
      const at = spot.matrixTransform(drawing.getScreenCTM().inverse());
      return { x: at.x, y: at.y };
    };

    const tell = (words) => { told.textContent = words; };

    const write = () => {
      field.value = corners.map(({ x, y }) => `${((x + left) / per).toFixed(digits)}, ${((top + down * y) / per).toFixed(digits)}`).join("\n");
      if (hit) hit.value = Math.max(0, ...corners.map((corner) => corner.off)).toFixed(3);
    };

    const read = (off) => {
      const typed = field.value.trim().split("\n").filter(Boolean)
        .map((line) => line.split(/[\s,]+/).filter(Boolean).map(Number));
      if (typed.every((pair) => pair.length === 2 && pair.every(Number.isFinite))) {
        corners = typed.map(([x, y]) => ({ x: x * per - left, y: down * (y * per - top), off }));
      }
    };

    const within = (at) => ({
      x: Math.min(box().x + box().width, Math.max(box().x, at.x)),
      y: Math.min(box().y + box().height, Math.max(box().y, at.y)),
    });

    const addCorner = (at, off) => {
      corners.push({ ...within(at), off: off * fine() });
      write();
      draw();
      tell(`${corners.length} corner${corners.length === 1 ? "" : "s"} set${corners.length < 3 ? "; three at least" : ""}`);
    };

    const shape = make("path", layer, { class: "tapped" });
    const ground = make("path", layer, { class: "tapped-ground" });
    layer.prepend(ground);
    const dots = make("g", layer);

    const draw = () => {
      const path = corners.map(({ x, y }) => `${x} ${y}`).join("L");
      const ring = corners.length ? `M${path}${corners.length > 2 ? "Z" : ""}` : "";
      shape.setAttribute("d", ring);
      ground.setAttribute("d", ring);
      const size = unit();
      dots.replaceChildren();
      corners.forEach((corner, order) => dots.append(dot(corner, order, size)));
      if (cross) {
        cross.setAttribute("transform", `translate(${cross.at.x} ${cross.at.y}) scale(${size})`);
      }
    };

    const dot = (corner, order, size) => {
      const group = make("g", dots, { class: "dot", transform: `translate(${corner.x} ${corner.y}) scale(${size})` });
      make("circle", group, { class: "reach", r: 18 });
      make("circle", group, { r: 6 });
      make("text", group, { x: 9, y: -7 }).textContent = String(order + 1);
      let last = null;
      // Part of a drawing cannot say that it does not scroll; the touch itself can.
      group.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
      group.addEventListener("pointerdown", (event) => {
        last = place(event);
        drawing.setPointerCapture(event.pointerId);
        const follow = (moved) => {
          const now = place(moved);
          Object.assign(corner, within({ x: corner.x + now.x - last.x, y: corner.y + now.y - last.y }));
          // Moved along with the finger it is seen beside it, not hidden under it.
          corner.off = MOUSE * fine();
          last = now;
          write();
          draw();
        };
        const stop = () => {
          drawing.removeEventListener("pointermove", follow);
          drawing.removeEventListener("pointerup", stop);
          drawing.removeEventListener("pointercancel", stop);
        };
        drawing.addEventListener("pointermove", follow);
        drawing.addEventListener("pointerup", stop);
        drawing.addEventListener("pointercancel", stop);
        event.preventDefault();
      });
      return group;
    };

    const makeCross = () => {
      const { x, y, width, height } = box();
      cross = make("g", layer, {
        class: "cross", tabindex: "0", role: "button",
        "aria-label": "Cross: the arrow keys move it, Enter sets a corner, Backspace takes the last one away",
      });
      cross.at = { x: x + width / 2, y: y + height / 2 };
      make("path", cross, { class: "under", d: "M-16 0H16M0 -16V16" });
      make("path", cross, { class: "over", d: "M-16 0H16M0 -16V16" });
      cross.addEventListener("keydown", (event) => {
        const way = WAYS[event.key];
        if (way) {
          const step = unit() * (event.shiftKey ? 1 : STEP);
          cross.at = within({ x: cross.at.x + way[0] * step, y: cross.at.y + way[1] * step });
          draw();
        } else if (event.key === "Enter" || event.key === " ") {
          addCorner(cross.at, KEYS);
        } else if (event.key === "Backspace") {
          takeBack();
        } else {
          return;
        }
        event.preventDefault();
      });
    };

    const takeBack = () => {
      corners.pop();
      write();
      draw();
      tell(`${corners.length} corner${corners.length === 1 ? "" : "s"} left`);
    };

    const closer = () => {
      const { x, y, width, height } = box();
      const last = corners[corners.length - 1];
      const at = last || (cross ? cross.at : { x: x + width / 2, y: y + height / 2 });
      drawing.setAttribute("viewBox", `${at.x - width / 4} ${at.y - height / 4} ${width / 2} ${height / 2}`);
      draw();
    };

    const doing = {
      closer,
      whole: () => { drawing.setAttribute("viewBox", whole); draw(); },
      back: takeBack,
      keys: () => { drawing.scrollIntoView({ block: "nearest" }); cross.focus(); },
    };
    form.querySelectorAll("[data-do]").forEach((button) => {
      button.addEventListener("click", () => doing[button.dataset.do]());
    });

    // While corners are set, a tap sets one; it does not lead to the scrap under it.
    drawing.addEventListener("click", (event) => {
      if (!details.open || event.target.closest(".dot")) {
        if (details.open) event.preventDefault();
        return;
      }
      event.preventDefault();
      event.stopPropagation();
      addCorner(place(event), event.pointerType === "mouse" ? MOUSE : FINGER);
    }, true);

    details.addEventListener("toggle", () => {
      drawing.classList.toggle("tapped-on", details.open);
      if (details.open) {
        // Only one thing is marked at a time.
        document.querySelectorAll("form.tapping details, #outline-form details").forEach((other) => {
          if (other !== details) other.open = false;
        });
        drawing.setAttribute("role", "group");
        makeCross();
        // What the browser kept from before was hit nobody knows how well.
        if (!corners.length) { read(FINGER * unit()); write(); }
      } else {
        if (cross) cross.remove();
        cross = null;
        drawing.setAttribute("viewBox", whole);
        if (!drawing.querySelector("[tabindex]")) drawing.setAttribute("role", role);
      }
      layer.toggleAttribute("hidden", !details.open);
      draw();
    });
    field.addEventListener("change", () => { read(0); write(); draw(); });
    form.addEventListener("submit", () => tell("Measuring; this takes a moment."));
    window.addEventListener("resize", draw);
  };

  document.querySelectorAll("form.tapping").forEach(tapping);
})();
