"use strict";
// What is folded on a phone stands open where there is room for it; without script one opens it.
(() => {
  if (!window.matchMedia("(min-width: 46rem)").matches) return;
  for (const fold of document.querySelectorAll("details.wide-open")) fold.open = true;
})();
