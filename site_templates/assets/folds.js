/* For browsers that do not do it by themselves: an address that names something folded away opens it,
   and paper has all that is folded. Nothing else depends on it. */
"use strict";
(() => {
  const reveal = () => {
    const named = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    let closed = false;
    for (let fold = named && named.closest("details:not([open])"); fold; fold = named.closest("details:not([open])")) {
      fold.open = closed = true;
    }
    if (named && named.matches(".mb-show")) {
      for (const fold of named.parentElement.querySelectorAll("details.mb-lines")) fold.open = closed = true;
    }
    if (closed) named.scrollIntoView();
  };
  addEventListener("hashchange", reveal);
  reveal();

  if (CSS.supports("selector(::details-content)")) return; // print.css does it
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details:not([open], .mb-blocks)")];
    for (const fold of opened) fold.open = true;
  });
  addEventListener("afterprint", () => { for (const fold of opened) fold.open = false; });
})();
