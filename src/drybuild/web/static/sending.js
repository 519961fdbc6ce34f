"use strict";
// A form goes off only when the app answers: an app that stopped costs nobody what was typed.
// An app that was started anew knows other tokens; the form gets its new one before it goes.
(() => {
  const said = document.getElementById("stands");
  const own = document.querySelector('meta[name="drybuild-token"]');
  if (!said || !own) return;
  const STOPPED = "The app does not answer. What you typed stays here: start it again, then send it once more.";
  const OUT = "This device is not let in any more. What you typed stays here: pair it again in another tab, then send it once more.";

  const asked = async () => {
    const answer = await fetch("/token", { cache: "no-store" });
    if (!answer.ok) throw new Error(OUT);
    const words = (await answer.text()).trim();
    if (!/^[0-9a-f]{64}$/.test(words)) throw new Error(OUT);
    return words;
  };

  // Started anew, the app gives this browser a new session first, and the token that goes with it.
  const token = async () => {
    const found = await asked();
    return found === own.content ? found : asked();
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (form.method !== "post" || event.defaultPrevented) return;
    if (form.dataset.going) { event.preventDefault(); return; }
    event.preventDefault();
    const pressed = event.submitter;
    form.dataset.going = "1";
    try {
      const now = await token();
      for (const field of document.querySelectorAll('form input[name="token"]')) field.value = now;
      own.content = now;
      const which = document.createElement("input");
      if (pressed?.name) {
        Object.assign(which, { type: "hidden", name: pressed.name, value: pressed.value });
        form.append(which);
      }
      if (pressed?.hasAttribute("formaction")) form.action = pressed.formAction;
      form.submit();
      which.remove();
      await new Promise((resolve) => window.setTimeout(resolve, 2000));
    } catch (error) {
      said.textContent = error.message === OUT ? OUT : STOPPED;
    }
    delete form.dataset.going;
  });
})();
