"use strict";
// Says when somebody else changed the build; a page loads again only where what it shows changed,
// and nothing is being typed.
(() => {
  const LOOKS = 120;
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
  const waits = document.getElementById("behind");
  if (waits) waits.textContent = "This page stands as before the latest edit, and shows that by itself once it is examined.";
  const meanwhile = () => {
    waits?.remove();  // said once
    const again = Object.assign(document.createElement("a"), { href: "", textContent: "Load the page again" });
    said.replaceChildren(
      `Changed meanwhile: ${changed}, on another screen or in an editor. `
      + "What you typed stays here; its button sends it, and writes over nothing that you have not seen. ",
      again, " shows the change and drops what you typed.");
  };
  events.addEventListener("changed", (event) => { changed = event.data || changed; });
  // Whether the page would show the same now; one that waits for an examination is never the same.
  const page = async () => {
    try {
      const answer = await fetch(window.location.href);
      return answer.ok ? new DOMParser().parseFromString(await answer.text(), "text/html") : null;
    } catch { return null; }
  };
  let latest = "";
  // The page as it is of this mark. While that is examined, one of before it comes: look again.
  const settled = async (mark) => {
    for (let look = 0; look < LOOKS && latest === mark; look += 1) {
      const found = await page();
      if (!found?.getElementById("behind")) return found;
      await new Promise((resolve) => window.setTimeout(resolve, 1000));
    }
    return null;
  };
  events.addEventListener("stands", async (event) => {
    said.textContent = "";
    latest = event.data;
    if (event.data === stamp.content) return;
    if (!stamp.content.endsWith(" in part")) {
      const found = await settled(event.data);
      if (latest !== event.data) return;  // changed again: that is looked at
      if (found && plain(found) === shown) {
        stamp.content = event.data;
        return;
      }
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
