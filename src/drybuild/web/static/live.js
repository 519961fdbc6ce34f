"use strict";
// Says when somebody else changed the build; a page loads again only when nothing is being typed.
(() => {
  const stamp = document.querySelector('meta[name="drybuild-stamp"]');
  const said = document.getElementById("stands");
  let leaving = false;
  if (!stamp || !said || !window.EventSource) return;
  const events = new EventSource("/events");
  let changed = "the build";
  const meanwhile = () => {
    const again = Object.assign(document.createElement("a"), { href: "", textContent: "Load the page again" });
    said.replaceChildren(
      `Changed meanwhile: ${changed}, on another screen or in an editor. `
      + "What you typed stays here; its button sends it, and writes over nothing that you have not seen. ",
      again, " shows the change and drops what you typed.");
  };
  events.addEventListener("changed", (event) => { changed = event.data || changed; });
  events.addEventListener("stands", (event) => {
    said.textContent = "";
    if (event.data === stamp.content) return;
    // A page that refused something holds what was typed, too.
    const typing = document.querySelector("form :focus, form[data-touched], [role=alert]");
    if (typing) meanwhile();
    else window.location.reload();
  });
  events.addEventListener("error", () => {
    if (!leaving) said.textContent = "The app does not answer. What you typed stays here: start it again.";
  });
  for (const way of ["beforeunload", "pagehide"]) window.addEventListener(way, () => { leaving = true; });
  document.addEventListener("input", (event) => {
    const form = event.target.closest("form");
    if (form) form.dataset.touched = "1";
  });
})();
