"use strict";
// What was typed into a form that was refused stands there again when one goes back to it.
// It is kept in this tab alone, until a form is taken or the tab is closed.
(() => {
  const OURS = "drybuild:typed:", WAITING = "drybuild:waiting";
  const typing = (form) => [...form.elements].filter(
    (one) => one.name && !["hidden", "file", "submit", "button"].includes(one.type));
  const ticked = (one) => one.type === "checkbox" || one.type === "radio";
  const told = (one) => (ticked(one) ? one.checked : one.value);

  const put = (one, value) => {
    if (told(one) === value) return;
    if (ticked(one)) one.checked = value;
    else one.value = value;
    for (let fold = one.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
    one.dispatchEvent(new Event("input", { bubbles: true }));
  };

  const refill = ({ place, action, values }) => {
    const form = document.forms[place];
    if (!form || form.getAttribute("action") !== action) return;
    const fields = typing(form);
    if (fields.length !== values.length) return;
    fields.forEach((one, n) => put(one, values[n]));
    form.dataset.touched = "1";
    const said = document.createElement("p");
    Object.assign(said, { className: "said", role: "status", textContent: "What you typed stands here again: it was not taken." });
    form.before(said);
  };

  const forget = () => {
    for (const key of Object.keys(sessionStorage)) if (key.startsWith(OURS)) sessionStorage.removeItem(key);
  };

  try {
    let mark = window.history.state?.typed;
    const came = performance.getEntriesByType("navigation")[0]?.type;
    const waiting = sessionStorage.getItem(WAITING);
    const refused = new URLSearchParams(window.location.search).has("refused");
    // A page that is neither the refusal nor the form itself: the form was taken.
    if (waiting && !refused && waiting !== mark) forget();
    sessionStorage.removeItem(WAITING);
    const kept = mark && came === "back_forward" && sessionStorage.getItem(mark);
    if (kept) refill(JSON.parse(kept));

    document.addEventListener("submit", (event) => {
      const form = event.target;
      if (form.method !== "post") return;
      if (mark) sessionStorage.removeItem(mark);
      mark = `${OURS}${Date.now()}`;
      const place = [...document.forms].indexOf(form);
      const said = { place, action: form.getAttribute("action"), values: typing(form).map(told) };
      sessionStorage.setItem(mark, JSON.stringify(said));
      sessionStorage.setItem(WAITING, mark);
      window.history.replaceState({ ...window.history.state, typed: mark }, "");
    }, true);
  } catch { /* a browser that keeps nothing: the form works all the same */ }
})();
