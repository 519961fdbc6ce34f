"use strict";
// Large keys under a reading, for one dirty hand; without script the field takes the phone's own.
(() => {
  const field = document.querySelector("input.reading");
  const pad = document.querySelector(".keypad");
  if (!field || !pad) return;
  pad.hidden = false;
  if (window.matchMedia("(pointer: coarse)").matches) field.inputMode = "none";
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button")?.dataset.key;
    if (!key) return;
    if (key === "back") field.value = field.value.replace(/( ± |; |.)$/, "");
    else if (key === ";" && !field.value) return;
    else field.value += key;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.scrollLeft = field.scrollWidth;
  });
})();
