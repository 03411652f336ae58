// The answer follows the palette, the shape and the slider; without it the form is sent as it is.
"use strict";

(() => {
  const form = document.getElementById("match");
  if (!form) return;
  const answer = document.getElementById("answer");
  const slide = document.getElementById("slide");
  const size = form.elements.size;
  const inches = slide.dataset.unit === "in";
  const LATER_MS = 1500; // sizes that are being worked out are looked at again

  form.querySelectorAll(".with-script").forEach((part) => { part.hidden = false; });
  form.querySelectorAll(".without-script").forEach((part) => { part.hidden = true; });

  // Quilters write inches as a whole and a part.
  const PARTS = { 0.25: "1/4", 0.5: "1/2", 0.75: "3/4" };
  const written = (value) => {
    if (!inches) return String(value);
    const whole = Math.floor(value);
    return [whole || "", PARTS[value - whole] || ""].filter(Boolean).join(" ");
  };
  const read = (text) => {
    const found = /^\s*(?:(\d+(?:[.,]\d+)?)(?![/\d]))?\s*(?:(\d+)\/(\d+))?/.exec(text);
    if (!found || !found[0].trim()) return null;
    return Number((found[1] || "0").replace(",", ".")) + (found[3] ? found[2] / found[3] : 0);
  };
  const follow = () => {
    const value = read(size.value);
    if (value) slide.value = String(value);
  };

  let asking = null;
  let again = false;
  let later = 0;
  const ask = async () => {
    if (asking) { again = true; return; }
    clearTimeout(later);
    const query = new URLSearchParams(new FormData(form));
    asking = fetch(`/match?${query}&part=1`).then((got) => got.text());
    try {
      const parsed = new DOMParser().parseFromString(await asking, "text/html");
      answer.replaceChildren(...parsed.body.childNodes);
      document.querySelector("h1").textContent = form.elements.palette.value;
      history.replaceState(null, "", `/match?${query}`);
    } catch { /* the page stays as it is */ }
    asking = null;
    if (again) { again = false; ask(); } else watch();
  };
  // The slider ends where the curve does.
  const watch = () => {
    const curve = answer.querySelector("[data-most]");
    if (curve) { slide.max = curve.dataset.most; follow(); }
    if (answer.querySelector("[data-working]")) later = setTimeout(ask, LATER_MS);
  };

  slide.addEventListener("input", () => { size.value = written(Number(slide.value)); ask(); });
  form.addEventListener("input", (event) => {
    if (event.target === slide) return;
    follow();
    ask();
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });
  follow();
  watch();
})();
