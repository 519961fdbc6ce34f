"use strict";
// Says when somebody else changed the build; a page loads again only when nothing is being typed.
(() => {
  const stamp = document.querySelector('meta[name="drybuild-stamp"]');
  const said = document.getElementById("stands");
  let leaving = false;
  if (!stamp || !said || !window.EventSource) return;
  const events = new EventSource("/events");
  events.addEventListener("stands", (event) => {
    said.textContent = "";
    if (event.data === stamp.content) return;
    // A page that refused something holds what was typed, too.
    const typing = document.querySelector("form :focus, form[data-touched], [role=alert]");
    if (typing) said.textContent = "The build was changed elsewhere: load the page again to see it.";
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
