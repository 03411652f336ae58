// On a photo: a tap on a scrap opens its card in place, a tap inside cloth that was missed finds it.
"use strict";

(() => {
  const dialog = document.createElement("dialog");
  dialog.className = "over-photo";
  dialog.setAttribute("aria-label", "Scrap");

  const close = document.createElement("button");
  close.type = "button";
  close.className = "quiet close";
  close.textContent = "Close";
  close.addEventListener("click", () => dialog.close());

  // The photo stays in sight: the card lies beside it on a desk, under it on a phone.
  const makeRoom = (photo) => {
    dialog.style.maxHeight = "";
    if (!matchMedia("(max-width: 859px)").matches) return;
    const bar = document.querySelector(".waiting");
    const top = bar ? bar.offsetHeight : 0;
    window.scrollBy(0, photo.getBoundingClientRect().top - top);
    const room = innerHeight - photo.getBoundingClientRect().bottom;
    if (room > 260) dialog.style.maxHeight = `${room - 8}px`;
  };

  const mark = (link) => {
    document.querySelectorAll("svg.on-photo a.chosen").forEach((one) => one.classList.remove("chosen"));
    if (link) link.classList.add("chosen");
  };
  dialog.addEventListener("close", () => mark(null));

  const open = async (link) => {
    const address = link.getAttribute("href");
    const got = await fetch(`${address}/card`);
    if (!got.ok) { location.href = address; return; }
    const parsed = new DOMParser().parseFromString(await got.text(), "text/html");
    dialog.replaceChildren(close, ...parsed.body.childNodes);
    if (!dialog.isConnected) document.body.append(dialog);
    makeRoom(link.closest("svg"));
    mark(link);
    if (!dialog.open) dialog.show(); // the photo stays within reach: the next tap opens the next card
  };

  // What is kept in the card is kept without leaving the photo.
  dialog.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.action.endsWith("/card")) return;
    event.preventDefault();
    const told = form.querySelector("[role=alert]");
    let answer = null;
    try {
      answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)), headers: { Accept: "application/json" } });
      if (answer.ok) { dialog.close(); return; }
      told.textContent = (await answer.json()).problem;
    } catch {
      told.textContent = "The stash did not answer; this is not kept.";
    }
    told.hidden = false;
  });
  document.addEventListener("keydown", (event) => { if (event.key === "Escape" && dialog.open) dialog.close(); });

  document.addEventListener("click", (event) => {
    const link = event.target.closest && event.target.closest("svg.on-photo a");
    if (!link || event.defaultPrevented || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    open(link);
  });

  const form = document.getElementById("find");
  if (!form) return;
  const drawing = document.getElementById(form.dataset.on);
  const told = form.querySelector("[role=status]");
  form.hidden = false;
  let looking = false;
  drawing.addEventListener("click", async (event) => {
    if (event.defaultPrevented || looking || event.target.closest("a")) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(drawing.getScreenCTM().inverse());
    form.elements.spot.value = `${at.x.toFixed(1)}, ${at.y.toFixed(1)}`;
    looking = true;
    told.textContent = "Looking for cloth there …";
    try {
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)), headers: { Accept: "application/json" } });
      if (answer.ok) { location.href = `${location.pathname}?said=marked`; return; }
      told.textContent = (await answer.json()).problem;
    } catch {
      told.textContent = "The stash did not answer. Tap again.";
    }
    looking = false;
  });
})();
