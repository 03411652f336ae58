// The wall answers while it is sifted, grows as it is scrolled, and lets many scraps be chosen by
// taps; without it every link and form does the same by loading a page.
"use strict";

(() => {
  const form = document.getElementById("sift");
  const part = document.getElementById("wall-part");
  if (!form || !part) return;

  form.querySelectorAll(".without-script").forEach((one) => { one.hidden = true; });

  const content = async (query, kind) => {
    query.set("part", kind);
    const got = await fetch(`/?${query}`);
    if (!got.ok) throw new Error(String(got.status));
    return new DOMParser().parseFromString(await got.text(), "text/html");
  };

  let asked = 0;
  const show = async (query) => {
    asked += 1;
    const mine = asked;
    const kept = new Set(chosen().map((box) => box.value));
    let page = null;
    try { page = await content(new URLSearchParams(query), "all"); } catch { location.search = query; return; }
    if (mine !== asked) return;
    part.replaceChildren(...page.body.childNodes);
    history.replaceState(null, "", `/?${query}`);
    for (const name of ["family", "dense", "choose"]) form.elements[name].value = query.get(name) || "";
    part.querySelectorAll("#wall input").forEach((box) => { box.checked = kept.has(box.value); });
    dress();
  };

  const sifted = () => new URLSearchParams([...new FormData(form)].filter(([, value]) => value));
  form.addEventListener("input", () => show(sifted()));
  form.addEventListener("submit", (event) => { event.preventDefault(); show(sifted()); });

  // Chosen scraps

  const chosen = () => [...part.querySelectorAll("#wall input:checked")];
  const tell = () => {
    const count = part.querySelector(".chosen-count");
    if (!count) return;
    const many = chosen().length;
    count.textContent = many ? `${many} chosen` : count.dataset.none;
    part.querySelectorAll("#many button[name]").forEach((button) => { button.disabled = !many; });
  };
  part.addEventListener("change", tell);

  part.addEventListener("click", (event) => {
    const tile = event.target.closest("#wall.choosing .swatch");
    if (tile) {
      event.preventDefault();
      const box = tile.parentElement.querySelector("input");
      box.checked = !box.checked;
      tell();
      return;
    }
    if (event.target.closest("[data-all]")) {
      part.querySelectorAll("#wall input").forEach((box) => { box.checked = true; });
      tell();
      return;
    }
    const link = event.target.closest(".chips a, .looks a");
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    show(new URLSearchParams(new URL(link.href).search));
  });

  // One long scroll

  let watcher = null;
  const dress = () => {
    part.querySelectorAll(".with-script").forEach((one) => { one.hidden = false; });
    tell();
    if (watcher) watcher.disconnect();
    const further = part.querySelector(".further");
    if (!further) return;
    const pager = further.closest("nav");
    const query = new URLSearchParams(new URL(further.href).search);
    const pages = Number(further.dataset.pages);
    let next = Number(query.get("page"));
    let loading = false;
    const mine = asked;
    watcher = new IntersectionObserver(async ([seen]) => {
      if (!seen.isIntersecting || loading) return;
      loading = true;
      query.set("page", String(next));
      try {
        const page = await content(new URLSearchParams(query), "tiles");
        if (mine !== asked) return;
        part.querySelector("#wall").append(...page.body.querySelectorAll("li"));
        next += 1;
      } catch { return; }
      loading = false;
      if (next >= pages) { watcher.disconnect(); pager.remove(); } else { watcher.unobserve(pager); watcher.observe(pager); }
    }, { rootMargin: "1200px" });
    watcher.observe(pager);
    pager.classList.add("quietly");
  };
  dress();
})();
