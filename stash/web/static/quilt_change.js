// Says what a change of the plan would do while it is being made.
"use strict";

(() => {
  const form = document.getElementById("change");
  const would = document.getElementById("would");
  if (!form) return;
  let asked = 0;
  const ask = async () => {
    asked += 1;
    const mine = asked;
    const query = new URLSearchParams([...new FormData(form)].filter(([name]) => name !== "token"));
    const answer = await fetch(`/quilt/change/would?${query}`);
    const text = await answer.text();
    if (mine !== asked || !answer.ok) return;
    would.replaceChildren(...new DOMParser().parseFromString(text, "text/html").body.childNodes);
  };
  form.addEventListener("input", ask);
})();
