// Lets a hand or the arrow keys choose, pin and swap pieces; the form below works without it.
"use strict";

(() => {
  const drawing = document.querySelector(".layout svg.quilt");
  const form = document.getElementById("layout-form");
  if (!drawing || !form) return;
  const chosen = document.getElementById("chosen");
  const pieces = [...drawing.querySelectorAll(".piece")];
  const spot = (piece) => [Number(piece.dataset.x), Number(piece.dataset.y)];
  let held = null;

  drawing.setAttribute("role", "group");
  pieces.forEach((piece, order) => {
    piece.setAttribute("role", "button");
    piece.setAttribute("aria-label", piece.dataset.words);
    piece.setAttribute("tabindex", order ? "-1" : "0");
  });

  const choose = (piece) => {
    pieces.forEach((other) => other.classList.toggle("held", other === piece));
    form.elements.one.value = piece.dataset.place;
    chosen.textContent = `${piece.dataset.words}. Pin it, or choose the piece to swap it with.`;
    held = piece;
  };

  const swap = (piece) => {
    form.elements.one.value = held.dataset.place;
    form.elements.other.value = piece.dataset.place;
    form.requestSubmit(form.querySelector("[value=swap]"));
  };

  const take = (piece) => {
    if (held && held !== piece && held.classList.contains("held")) swap(piece);
    else choose(piece);
  };

  const nearest = (from, way) => {
    const [x, y] = spot(from);
    let best = null;
    let least = Infinity;
    for (const piece of pieces) {
      const [px, py] = spot(piece);
      const ahead = (px - x) * way[0] + (py - y) * way[1];
      const aside = Math.abs((px - x) * way[1]) + Math.abs((py - y) * way[0]);
      if (ahead > 0.01 && ahead + 2.5 * aside < least) {
        least = ahead + 2.5 * aside;
        best = piece;
      }
    }
    return best;
  };

  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  drawing.addEventListener("keydown", (event) => {
    const piece = event.target.closest(".piece");
    if (!piece) return;
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      take(piece);
    } else if (WAYS[event.key]) {
      event.preventDefault();
      const next = nearest(piece, WAYS[event.key]);
      if (!next) return;
      piece.setAttribute("tabindex", "-1");
      next.setAttribute("tabindex", "0");
      next.focus();
    }
  });

  let from = null;
  drawing.addEventListener("pointerdown", (event) => {
    from = event.target.closest(".piece");
    if (from && event.pointerType === "mouse") event.preventDefault();
  });
  drawing.addEventListener("pointerup", (event) => {
    const under = document.elementFromPoint(event.clientX, event.clientY);
    const to = under && under.closest(".piece");
    if (!from || !to) return;
    if (to === from) take(to);
    else if (event.pointerType === "mouse" || to !== from) { held = from; swap(to); }
    from = null;
  });
})();
