// Shows what the stash says to a palette while it is being chosen.
"use strict";

(() => {
  const form = document.getElementById("palette");
  if (!form) return;
  const preview = document.getElementById("preview");
  const colours = document.getElementById("colours");
  let waiting = 0;
  let asked = 0;

  form.querySelectorAll(".with-script").forEach((part) => { part.hidden = false; });

  const question = () => {
    const query = new URLSearchParams();
    for (const [name, value] of new FormData(form)) {
      if (name !== "token" && name !== "name" && typeof value === "string" && value) query.append(name, value);
    }
    return query;
  };

  const ask = async () => {
    const query = question();
    if (![...query.keys()].length) return;
    asked += 1;
    const mine = asked;
    const answer = await fetch(`/palettes/preview?${query}`);
    const text = await answer.text();
    if (mine !== asked || !answer.ok) return;
    const parsed = new DOMParser().parseFromString(text, "text/html");
    preview.replaceChildren(...parsed.body.childNodes);
  };

  const soon = () => {
    clearTimeout(waiting);
    waiting = setTimeout(ask, 250);
  };
  form.addEventListener("input", soon);

  document.getElementById("add-colour").addEventListener("click", () => {
    const picked = document.getElementById("picker").value;
    colours.value = [colours.value.trim(), picked].filter(Boolean).join(", ");
    soon();
  });
})();
