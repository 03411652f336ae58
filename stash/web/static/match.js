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
  const RESTS_MS = 300; // a slider that stands so long is no longer drawn along
  const IN_SIGHT = 6; // lines of a group that are sent while it is

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
  let again = null;
  let later = 0;
  const show = (text) => {
    const open = Boolean(answer.querySelector(".curve-numbers[open]"));
    const parsed = new DOMParser().parseFromString(text, "text/html");
    const drawn = parsed.querySelector("[data-curve]");
    if (drawn) document.getElementById("curve").replaceChildren(drawn);
    answer.replaceChildren(...parsed.body.childNodes);
    const numbers = answer.querySelector(".curve-numbers");
    if (numbers) numbers.open = open;
    document.querySelector("h1").textContent = form.elements.palette.value;
  };
  const ask = async (most = 0) => {
    if (asking) { again = most; return; }
    clearTimeout(later);
    const query = new URLSearchParams(new FormData(form));
    asking = fetch(`/match?${query}&part=1${most ? `&most=${most}` : ""}`).then((got) => got.text());
    try {
      show(await asking);
      history.replaceState(null, "", `/match?${query}`);
    } catch { /* the page stays as it is */ }
    asking = null;
    if (again !== null) { const next = again; again = null; ask(next); } else watch(most);
  };
  // The slider lies under the curve: the middle of its thumb goes from the first bar to the last.
  const watch = (most = 0) => {
    const curve = form.querySelector("[data-most]");
    if (curve) {
      slide.max = curve.dataset.most;
      slide.style.setProperty("--margin", `${curve.dataset.margin}%`);
      follow();
    }
    if (answer.querySelector("[data-working]")) later = setTimeout(ask, LATER_MS);
    else if (most) later = setTimeout(ask, RESTS_MS);
  };

  slide.addEventListener("input", () => {
    size.value = written(Number(slide.value));
    const line = form.querySelector(".curve .asked"); // goes along before the answer is there
    const share = (slide.value - slide.min) / (slide.max - slide.min || 1);
    if (line) line.setAttribute("d", line.getAttribute("d").replace(/^M\S+/, `M${100 * share}`));
    ask(IN_SIGHT);
  });
  form.addEventListener("input", (event) => {
    if (event.target === slide) return;
    follow();
    ask();
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); ask(); });
  follow();
  watch();
})();
