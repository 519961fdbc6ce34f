"use strict";
// The work: planning seen while it runs, sections that are counted when opened, large keys.
(() => {
  const pieces = document.querySelectorAll("details[data-from]");
  pieces.forEach((one) => one.addEventListener("toggle", async () => {
    if (!one.open || one.dataset.asked) return;
    one.dataset.asked = "1";
    const link = one.querySelector("a"), before = link.textContent;
    link.parentElement.setAttribute("role", "status");
    link.textContent = `${one.querySelector("summary").textContent}: it is being counted`;
    try {
      const answer = await fetch(one.dataset.from);
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const piece = answer.ok && page.querySelector(".piece");
      if (!piece) throw new Error("no piece");
      link.parentElement.replaceWith(document.importNode(piece, true));
    } catch {
      link.textContent = before;
      delete one.dataset.asked;
    }
  }));
})();
(() => {
  const planner = document.getElementById("planner"), said = document.getElementById("planner-said");
  if (!planner || !("running" in planner.dataset)) return;
  const look = async () => {
    let text = "";
    try {
      const answer = await fetch("/work/planning");
      if (answer.ok) text = await answer.text();
    } catch { /* the app is away for a moment: look again */ }
    if (text && !text.includes("<progress")) return window.location.reload();
    if (text && !planner.contains(document.activeElement)) planner.innerHTML = text;
    const stage = planner.querySelector(".stage")?.textContent.trim() ?? "";
    if (stage !== said.textContent) said.textContent = stage;
    window.setTimeout(look, 1500);
  };
  window.setTimeout(look, 1500);
})();
(() => {
  const held = document.getElementById("pad");
  if (!held) return;
  const pad = held.content.firstElementChild;
  let field = null;
  const show = (at) => {
    const one = at?.closest("input[data-pad]");
    if (!one || one === field) return;
    field = one;
    pad.querySelectorAll("[data-unit]").forEach((key) => key.remove());
    for (const unit of field.dataset.pad.split(" ").filter(Boolean)) {
      const key = document.createElement("button");
      Object.assign(key, { type: "button", textContent: unit });
      Object.assign(key.dataset, { key: ` ${unit} `, unit });
      pad.append(key);
    }
    if (window.matchMedia("(pointer: coarse)").matches) field.inputMode = "none";
    field.after(pad);
  };
  document.addEventListener("focusin", (event) => show(event.target));
  window.addEventListener("load", () => show(document.activeElement));  // a refused field has it
  pad.addEventListener("click", (event) => {
    const key = event.target.closest("button")?.dataset.key;
    if (!key || !field) return;
    field.value = key === "back" ? field.value.trimEnd().slice(0, -1) : field.value + key;
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
})();
// What was written down is said aloud, and the focus is where the hand was.
(() => {
  const HAND = "drybuild:hand", said = document.getElementById("recorded");
  if (!said) return;
  let hand = null;
  try {
    hand = sessionStorage.getItem(HAND);
    sessionStorage.removeItem(HAND);
    document.addEventListener("submit", (event) => {
      // The bar's button sends the form of its task, which lies above.
      const at = (event.submitter ?? event.target).closest(".bar, #ahead, [id]:not(form)");
      if (at) sessionStorage.setItem(HAND, at.matches(".bar, #ahead") ? ".bar .main" : `#${CSS.escape(at.id)} summary`);
    });
  } catch { /* a browser that keeps nothing: the words are said all the same */ }
  const words = said.textContent;
  if (!words && !hand) return;
  const here = new URL(window.location.href);
  here.searchParams.delete("written");  // loaded again, it is not said again
  window.history.replaceState(window.history.state, "", here);
  said.textContent = "";  // a status is spoken when it changes, not when a page comes with it
  window.addEventListener("load", () => window.setTimeout(() => {
    // The mark in the address takes the focus away once the page is there.
    if (hand && document.activeElement === document.body) document.querySelector(hand)?.focus({ preventScroll: true });
    said.textContent = words;
  }, 300));
})();
