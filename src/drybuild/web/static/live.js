"use strict";
// Says when somebody else changed the build; a page loads again only when nothing is being typed.
(() => {
  const stamp = document.querySelector('meta[name="drybuild-stamp"]');
  const said = document.getElementById("stands");
  if (!stamp || !said || !window.EventSource) return;
  new EventSource("/events").addEventListener("stands", (event) => {
    if (event.data === stamp.content) return;
    const typing = document.querySelector("form :focus, form[data-touched]");
    if (typing) said.textContent = "The build was changed elsewhere: load the page again to see it.";
    else window.location.reload();
  });
  document.addEventListener("input", (event) => {
    const form = event.target.closest("form");
    if (form) form.dataset.touched = "1";
  });
})();
