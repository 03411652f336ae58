// Lets a finger, a mouse or the arrow keys swap and pin pieces; the form below works without it.
// A change is on the screen at once and saved behind; what the stash refuses is put back and told.
"use strict";

(() => {
  const section = document.getElementById("layout");
  const drawing = section && section.querySelector("svg.quilt");
  const form = document.getElementById("layout-form");
  if (!drawing || !form) return;

  const LONG_PRESS_MS = 550;
  const MOVED_PX = 8; // less is a tap with an unsteady finger
  const chosen = document.getElementById("chosen");
  const undoButton = document.getElementById("layout-undo");
  const pinButton = document.getElementById("layout-pin");
  const ofPiece = [...section.querySelectorAll("[data-of-piece]")];
  const touching = document.getElementById("touching");
  const cells = [...drawing.querySelectorAll(".piece")];
  const ring = drawing.querySelector(".ring");
  const neighbours = JSON.parse(section.dataset.neighbours);
  const done = [];
  let held = null;

  section.querySelectorAll(".with-script").forEach((part) => { part.hidden = false; });
  drawing.setAttribute("role", "group");
  cells.forEach((cell, order) => {
    cell.setAttribute("role", "button");
    cell.setAttribute("tabindex", order ? "-1" : "0");
  });

  // What lies in a cell, apart from the cell's own place and shape.
  const CONTENT = ["scrap", "fabric", "called", "cut"];
  const pinned = (cell) => cell.classList.contains("pinned");
  const describe = (cell) => {
    const words = `Row ${cell.dataset.place.replace(".", ", piece ")}: ${cell.dataset.called}${pinned(cell) ? ", pinned" : ""}`;
    cell.setAttribute("aria-label", words);
    return words;
  };
  cells.forEach(describe);

  const exchange = (one, other) => {
    for (const name of CONTENT) [one.dataset[name], other.dataset[name]] = [other.dataset[name], one.dataset[name]];
    const inks = [...one.querySelectorAll(".ink")].map((ink, layer) => [ink, other.querySelectorAll(".ink")[layer]]);
    for (const [mine, theirs] of inks) {
      const fill = mine.getAttribute("fill");
      mine.setAttribute("fill", theirs.getAttribute("fill"));
      theirs.setAttribute("fill", fill);
    }
    describe(one);
    describe(other);
  };

  const tell = () => {
    const places = cells.filter(pinned).map((cell) => cell.dataset.place);
    document.getElementById("pins").textContent = places.length ? ` Pinned: ${places.join(", ")}.` : "";
    const pairs = neighbours.filter(([one, other]) => cells[one].dataset.fabric === cells[other].dataset.fabric);
    touching.textContent = pairs.length
      ? `${pairs.length} pair${pairs.length === 1 ? "" : "s"} of neighbours of one fabric.`
      : touching.dataset.none;
  };

  const outline = (cell) => ring.setAttribute("points", cell ? cell.querySelector("polygon").getAttribute("points") : "");

  // What can be said of the piece held; the form carries its place.
  const offer = (cell) => {
    form.elements.one.value = cell ? cell.dataset.place : "";
    for (const button of ofPiece) {
      button.hidden = !cell || cell.dataset.scrap === "0" || (button.dataset.ofPiece === "cut" && !cell.dataset.cut);
    }
  };

  const letGo = () => {
    held = null;
    outline(null);
    offer(null);
    pinButton.disabled = true;
  };

  const hold = (cell) => {
    held = cell;
    outline(cell);
    offer(cell);
    pinButton.disabled = false;
    pinButton.textContent = pinned(cell) ? "Let it go" : "Pin it";
    chosen.textContent = `${describe(cell)}. Tap the piece to swap it with.`;
  };

  // Saved one after the other, in the order they were done.
  let last = Promise.resolve();
  let saving = 0;
  const busy = (more) => {
    saving += more;
    section.setAttribute("aria-busy", String(saving > 0));
  };
  const save = (fields, back) => {
    busy(1);
    last = last.then(async () => {
      const body = new URLSearchParams({ ...fields, token: form.elements.token.value, name: form.elements.name.value });
      let told = "The stash did not answer; this change is not kept.";
      try {
        const answer = await fetch(form.action, { method: "POST", body, keepalive: true, headers: { Accept: "application/json" } });
        if (answer.ok) return;
        told = (await answer.json()).problem || told;
      } catch { /* told below */ }
      back();
      done.length = 0;
      undoButton.disabled = true;
      chosen.textContent = told;
    }).finally(() => busy(-1));
  };

  const swap = (one, other, again = true) => {
    if (one === other) return;
    const seen = [one, other].map((cell) => `${cell.dataset.place}=${cell.dataset.scrap}`).join(" ");
    exchange(one, other);
    tell();
    letGo();
    chosen.textContent = `${one.dataset.place} and ${other.dataset.place} changed places.`;
    save({ what: "swap", one: one.dataset.place, other: other.dataset.place, seen }, () => { exchange(one, other); tell(); });
    if (again) remember(() => swap(one, other, false));
  };

  const pin = (cell, again = true) => {
    const what = pinned(cell) ? "unpin" : "pin";
    cell.classList.toggle("pinned");
    const words = describe(cell);
    letGo();
    tell();
    chosen.textContent = what === "pin" ? `${words}.` : `${words}, no longer pinned.`;
    save({ what, one: cell.dataset.place, seen: "" }, () => { cell.classList.toggle("pinned"); describe(cell); tell(); });
    if (again) remember(() => pin(cell, false));
  };

  const remember = (back) => {
    done.push(back);
    undoButton.disabled = false;
  };

  undoButton.addEventListener("click", () => {
    const back = done.pop();
    if (back) back();
    undoButton.disabled = !done.length;
  });
  pinButton.addEventListener("click", () => { if (held) pin(held); });

  const take = (cell) => {
    if (held === cell) {
      letGo();
      chosen.textContent = chosen.dataset.how;
    } else if (held) swap(held, cell);
    else hold(cell);
  };

  // Keys

  const spot = (cell) => [Number(cell.dataset.x), Number(cell.dataset.y)];
  const nearest = (from, way) => {
    const [x, y] = spot(from);
    let best = null;
    let least = Infinity;
    for (const cell of cells) {
      const [px, py] = spot(cell);
      const ahead = (px - x) * way[0] + (py - y) * way[1];
      const aside = Math.abs((px - x) * way[1]) + Math.abs((py - y) * way[0]);
      if (ahead > 0.01 && ahead + 2.5 * aside < least) {
        least = ahead + 2.5 * aside;
        best = cell;
      }
    }
    return best;
  };

  const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  drawing.addEventListener("keydown", (event) => {
    const cell = event.target.closest(".piece");
    if (!cell) return;
    if (event.key === "Enter" || event.key === " ") take(cell);
    else if (event.key === "p") pin(cell);
    else if (event.key === "Escape") letGo();
    else if (WAYS[event.key]) {
      const next = nearest(cell, WAYS[event.key]);
      if (next) {
        cell.setAttribute("tabindex", "-1");
        next.setAttribute("tabindex", "0");
        next.focus({ preventScroll: section.classList.contains("wide") });
      }
    } else return;
    event.preventDefault();
  });

  // Fingers and mouse. One finger drags a piece; two come closer or move the whole.

  const pointers = new Map();
  let grip = null; // the piece under the first finger, from where, its ghost
  let spread = null; // how far apart two fingers were, and the view then

  const cellAt = (x, y) => {
    const under = document.elementFromPoint(x, y);
    return under && under.closest("#layout .piece");
  };

  const drop = () => {
    if (!grip) return;
    clearTimeout(grip.timer);
    if (grip.ghost) grip.ghost.remove();
    drawing.classList.remove("dragging");
    if (!held) outline(null);
    grip = null;
  };

  const lift = () => {
    grip.ghost = grip.cell.cloneNode(true);
    grip.ghost.removeAttribute("tabindex");
    grip.ghost.setAttribute("class", "ghost");
    drawing.append(grip.ghost);
    drawing.classList.add("dragging");
  };

  const carry = (event) => {
    const at = drawing.getScreenCTM();
    const [dx, dy] = [(event.clientX - grip.x) / at.a, (event.clientY - grip.y) / at.d];
    grip.ghost.setAttribute("transform", `translate(${dx} ${dy})`);
    const over = cellAt(event.clientX, event.clientY);
    outline(over && over !== grip.cell ? over : null);
  };

  const whole = drawing.getAttribute("viewBox").split(" ").map(Number);
  const view = () => drawing.getAttribute("viewBox").split(" ").map(Number);
  const setView = ([x, y, wide, high]) => {
    const share = Math.min(1, Math.max(1 / 8, wide / whole[2]));
    [wide, high] = [whole[2] * share, whole[3] * share];
    x = Math.min(Math.max(x, whole[0]), whole[0] + whole[2] - wide);
    y = Math.min(Math.max(y, whole[1]), whole[1] + whole[3] - high);
    drawing.setAttribute("viewBox", [x, y, wide, high].map((one) => one.toFixed(4)).join(" "));
  };

  const fingers = () => {
    const [one, other] = [...pointers.values()];
    return { x: (one.x + other.x) / 2, y: (one.y + other.y) / 2, apart: Math.hypot(one.x - other.x, one.y - other.y) };
  };

  const pinch = () => {
    const now = fingers();
    const [x, y, wide, high] = spread.view;
    const scale = spread.apart / Math.max(now.apart, 1);
    const at = new DOMPoint(spread.x, spread.y).matrixTransform(spread.inverse);
    const per = wide / spread.wide;
    setView([
      at.x - (at.x - x) * scale - (now.x - spread.x) * per * scale,
      at.y - (at.y - y) * scale - (now.y - spread.y) * per * scale,
      wide * scale, high * scale,
    ]);
  };

  drawing.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (pointers.size === 2) {
      drop();
      const wide = view()[2] * drawing.getScreenCTM().a;
      spread = { ...fingers(), view: view(), inverse: drawing.getScreenCTM().inverse(), wide };
      return;
    }
    const cell = event.target.closest(".piece");
    if (!cell || pointers.size > 2) return;
    grip = { cell, id: event.pointerId, x: event.clientX, y: event.clientY, ghost: null };
    grip.timer = setTimeout(() => {
      const { cell: pressed } = grip;
      drop();
      if (navigator.vibrate) navigator.vibrate(15);
      pin(pressed);
    }, LONG_PRESS_MS);
    // A finger stays with the piece it touched first; without this the browser lets it go.
    drawing.setPointerCapture(event.pointerId);
    if (event.pointerType === "mouse") event.preventDefault();
  });
  drawing.addEventListener("pointermove", (event) => {
    if (!pointers.has(event.pointerId)) return;
    pointers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (spread && pointers.size === 2) { pinch(); return; }
    if (!grip || grip.id !== event.pointerId) return;
    if (!grip.ghost && Math.hypot(event.clientX - grip.x, event.clientY - grip.y) > MOVED_PX) {
      clearTimeout(grip.timer);
      lift();
    }
    if (grip.ghost) carry(event);
  });
  const end = (event) => {
    pointers.delete(event.pointerId);
    if (spread) { if (pointers.size < 2) spread = null; return; }
    if (!grip || grip.id !== event.pointerId) return;
    const { cell, ghost } = grip;
    drop();
    if (event.type === "pointercancel") return;
    if (!ghost) { cell.focus({ preventScroll: true }); take(cell); return; }
    const to = cellAt(event.clientX, event.clientY);
    if (to && to !== cell) swap(cell, to);
  };
  drawing.addEventListener("pointerup", end);
  drawing.addEventListener("pointercancel", end);
  drawing.addEventListener("contextmenu", (event) => event.preventDefault());

  // The quilt alone on the screen

  const wideButton = document.getElementById("layout-wide");
  const widen = (wide) => {
    section.classList.toggle("wide", wide);
    document.body.classList.toggle("under-wide", wide);
    wideButton.textContent = wide ? "Back to the page" : "Whole screen";
    wideButton.setAttribute("aria-pressed", String(wide));
    if (!wide) setView(whole);
  };
  wideButton.addEventListener("click", () => widen(!section.classList.contains("wide")));
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && section.classList.contains("wide") && !held) { widen(false); wideButton.focus(); }
  });

  chosen.textContent = chosen.dataset.how;
  tell();
})();
