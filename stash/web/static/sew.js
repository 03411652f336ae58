// One step a screen, ticked off, the screen kept awake; what is cut while the stash cannot be
// reached is told to it later. Without this all steps stand one below the other.
"use strict";

(() => {
  const steps = [...document.querySelectorAll(".sew-step")];
  const count = document.getElementById("sew-count");
  const told = document.getElementById("offline-told");
  const place = `sewing ${document.body.dataset.quilt}`;

  document.body.classList.add("stepwise");
  document.querySelectorAll(".with-script").forEach((one) => { one.hidden = false; });

  const read = () => { try { return JSON.parse(localStorage.getItem(place)) || {}; } catch { return {}; } };
  const state = { done: [], waiting: [], at: 0, ...read() };
  const keep = () => { try { localStorage.setItem(place, JSON.stringify(state)); } catch { /* ticked on this screen only */ } };

  const isDone = (step) => "told" in step.dataset || state.done.includes(step.dataset.step);
  const show = (at, focus = true) => {
    state.at = Math.min(Math.max(at, 0), steps.length - 1);
    steps.forEach((step, order) => {
      step.hidden = order !== state.at;
      step.classList.toggle("ticked-off", isDone(step));
    });
    const ticked = steps.filter(isDone).length;
    count.textContent = `${state.at + 1} of ${steps.length}, ${ticked} done${state.waiting.length ? `, ${state.waiting.length} to be told` : ""}`;
    document.getElementById("sew-back").disabled = !state.at;
    document.getElementById("sew-next").disabled = state.at === steps.length - 1;
    keep();
    scrollTo(0, 0);
    if (focus) document.getElementById("main").focus();
  };

  const tick = (step) => {
    if (!isDone(step)) state.done.push(step.dataset.step);
    const next = steps.findIndex((one, order) => order > state.at && !isDone(one));
    show(next < 0 ? state.at : next);
  };

  // Cuts and rows are recorded in the stash; those that could not be told wait here.
  let telling = false;
  const tell = async () => {
    if (telling) return;
    telling = true;
    while (state.waiting.length) {
      let answer = null;
      try {
        const { path, ...fields } = state.waiting[0];
        answer = await fetch(path, { method: "POST", body: new URLSearchParams({ ...fields, token }), headers: { Accept: "application/json" } });
      } catch { break; }
      state.waiting.shift();
      if (!answer.ok) count.textContent = (await answer.json().catch(() => ({}))).problem || "The stash did not take that.";
      else show(state.at, false);
      keep();
    }
    telling = false;
  };
  const forms = [...document.querySelectorAll(".sew-step form")];
  const token = forms.length ? forms[0].elements.token.value : "";
  document.addEventListener("submit", (event) => {
    event.preventDefault();
    const { token: _, ...fields } = Object.fromEntries(new FormData(event.target));
    state.waiting.push({ path: new URL(event.target.action).pathname, ...fields });
    tick(event.target.closest(".sew-step"));
    tell();
  });
  addEventListener("online", tell);

  document.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (!button) return;
    if (button.id === "sew-next") show(state.at + 1);
    else if (button.id === "sew-back") show(state.at - 1);
    else if (button.type === "button" && button.classList.contains("done")) tick(button.closest(".sew-step"));
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "ArrowRight") show(state.at + 1);
    if (event.key === "ArrowLeft") show(state.at - 1);
  });

  const wake = async () => {
    if (!navigator.wakeLock || document.visibilityState !== "visible") return;
    try { await navigator.wakeLock.request("screen"); } catch { /* low on power: the screen may sleep */ }
  };
  document.addEventListener("visibilitychange", wake);
  wake();

  // Browsers keep pages for later only where the connection is safe: on this computer itself.
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register("/keeper.js").then(() => navigator.serviceWorker.ready).then((keeper) => {
      // What was loaded before the keeper was there is kept as well.
      const seen = [location.href, ...[...document.images].map((one) => one.src), ...[...document.querySelectorAll("link[href], script[src]")].map((one) => one.href || one.src)];
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = () => { told.textContent = "This page is kept: it opens without the network too."; };
      keeper.active.postMessage(seen, [port2]);
    }).catch(() => {});
  } else {
    told.textContent = "While this page stays open it works without the network; opened anew it needs the computer.";
  }
  show(state.at, false);
  tell();
})();
