"use strict";
// While a slider moves, the picture answers; when it rests, so does the sentence of what else moves.
// One question at a time is under way: the newest waits, those between are left out.
(() => {
  const form = document.getElementById("sliders");
  const picture = document.getElementById("tried");
  if (!form || !picture) return;
  const ranges = [...form.querySelectorAll("input[type=range]")];
  let busy = false;
  let again = false;
  let rest = 0;

  const asked = () => {
    const words = new URLSearchParams({ state: picture.dataset.state });
    for (const range of ranges) {
      if (range.value !== range.dataset.at) words.set(range.name, range.value);
    }
    return words;
  };

  const ask = async () => {
    if (busy) { again = true; return; }
    busy = true;
    do {
      again = false;
      const answer = await fetch(`${picture.dataset.from}?${asked()}`);
      if (answer.ok) picture.innerHTML = await answer.text();
      picture.dataset.answered = String(Number(picture.dataset.answered || 0) + 1);
    } while (again);
    busy = false;
  };

  const restful = async () => {
    const answer = await fetch(`${form.dataset.moves}?${asked()}`);
    if (answer.ok) document.getElementById("moves").innerHTML = await answer.text();
  };

  const moved = () => {
    for (const range of ranges) {
      const unit = range.nextElementSibling.textContent.split(" ").pop();
      range.nextElementSibling.textContent = `${Number(range.value)} ${unit}`.replace("-", "−");
    }
    ask();
    window.clearTimeout(rest);
    rest = window.setTimeout(restful, 350);
  };

  form.addEventListener("input", (event) => { if (ranges.includes(event.target)) moved(); });
  form.addEventListener("reset", () => window.setTimeout(moved, 0));
})();
