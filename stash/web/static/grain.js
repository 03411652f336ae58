// Turns the grain's arrow on the drawing with the slider: degrees counter-clockwise, SVG's are not.
"use strict";

(() => {
  const form = document.getElementById("grain-form");
  const arrow = document.getElementById("grain-arrow");
  if (!form || !arrow) return;
  const details = form.querySelector("details");
  const slider = form.elements.grain;
  const told = document.getElementById("grain-told");
  const hidden = arrow.hasAttribute("hidden");

  const turn = () => {
    told.textContent = `${slider.value}°`;
    arrow.setAttribute("transform", arrow.getAttribute("transform").replace(/rotate\([^)]*\)/, `rotate(${-slider.value})`));
  };

  slider.addEventListener("input", turn);
  details.addEventListener("toggle", () => {
    arrow.toggleAttribute("hidden", hidden && !details.open);
    turn();
  });
})();
