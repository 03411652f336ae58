// Says and draws what a change of the plan would do while it is being made.
"use strict";

(() => {
  const form = document.getElementById("change");
  const told = document.getElementById("would");
  const [now, asIs, asWould] = ["now", "as-is", "as-would"].map((id) => document.getElementById(id));
  if (!form) return;
  const REST_MS = 300;
  const PAUSE_MS = 80; // a hand that types a number is let finish it
  let asked = 0;
  let timer = 0;

  const show = (answer) => {
    const [words, picture] = ["[data-told]", "[data-picture]"].map((part) => answer.querySelector(part));
    if (!words) return;
    const changed = !("same" in words.dataset);
    told.replaceChildren(...words.childNodes);
    now.hidden = changed;
    asIs.hidden = Boolean(picture);
    asWould.hidden = !picture;
    if (picture) asWould.replaceChildren(...picture.childNodes);
  };

  // What it does and looks like comes at once; what the stash gives of it, when the hand rests.
  const ask = async (whole = "") => {
    asked += 1;
    const mine = asked;
    const query = new URLSearchParams([...new FormData(form)].filter(([name]) => name !== "token"));
    const answer = await fetch(`/quilt/change/would?${query}${whole}`);
    const text = await answer.text();
    if (mine !== asked || !answer.ok) return;
    show(new DOMParser().parseFromString(text, "text/html"));
    if (told.querySelector("[data-more]")) timer = setTimeout(ask, REST_MS, "&whole=1");
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(ask, PAUSE_MS);
  });
})();
