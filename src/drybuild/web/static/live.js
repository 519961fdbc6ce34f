"use strict";
// Says when somebody else changed the build; a page loads again only where what it shows changed,
// and nothing is being typed.
(() => {
  const stamp = document.querySelector('meta[name="drybuild-stamp"]');
  const said = document.getElementById("stands");
  let leaving = false;
  const plain = (page) => {
    const main = page.querySelector("main").cloneNode(true);
    main.querySelectorAll("[role=status]").forEach((one) => one.replaceChildren());  // said once
    return main.innerHTML;
  };
  const shown = plain(document);  // before any script has touched it
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
  // Whether the page would show the same now; one that waits for an examination is never the same.
  const same = async () => {
    if (stamp.content.endsWith(" in part")) return false;
    try {
      const answer = await fetch(window.location.href);
      return answer.ok && plain(new DOMParser().parseFromString(await answer.text(), "text/html")) === shown;
    } catch { return false; }
  };
  events.addEventListener("stands", async (event) => {
    said.textContent = "";
    if (event.data === stamp.content) return;
    if (await same()) {
      stamp.content = event.data;
      return;
    }
    // A page that refused something holds what was typed, too.
    const bar = document.querySelector(".bar :focus");  // the thumb lies there, and types nothing
    const typing = document.querySelector("form[data-touched], [role=alert]")
      || !bar && document.querySelector("form :focus");
    if (typing) return meanwhile();
    if (bar) try { sessionStorage.setItem("drybuild:hand", ".bar .main"); } catch { /* it keeps nothing */ }
    window.location.reload();
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
