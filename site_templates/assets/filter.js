/* Shows of a list only the rows that the choices above it ask for. Without it every row is there, and
   links lead to the parts; so nothing depends on it. */
"use strict";
(() => {
  const forms = document.querySelectorAll("form.mb-filter");

  const fits = (row, choices) =>
    choices.every(([name, value]) => !value || (row.getAttribute(`data-${name}`) ?? "") === value);

  // groups that hold what was asked for open, the others go; with nothing asked for all stay as they are
  const gather = (list, asked) => {
    list.querySelectorAll("details[data-group]").forEach((group) => {
      group.hidden = [...group.querySelectorAll("tr[data-row]")].every((row) => row.hidden);
      if (asked && !group.hidden) group.open = true;
    });
  };

  const apply = (form) => {
    const list = document.getElementById(form.dataset.for);
    const rows = [...list.querySelectorAll("tr[data-row]")];
    const choices = [...form.querySelectorAll("select")].map((s) => [s.name, s.value]);
    rows.forEach((row) => { row.hidden = !fits(row, choices); });
    gather(list, choices.some(([, value]) => value));
    const shown = rows.filter((row) => !row.hidden).length;
    form.querySelector("output").textContent = shown === rows.length ? `all ${shown} rows` : `${shown} of ${rows.length} rows`;
  };

  forms.forEach((form) => {
    form.hidden = false;
    form.addEventListener("change", () => apply(form));
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("reset", () => setTimeout(() => apply(form)));
    apply(form);
  });

  // an address that names a hidden row shows it again
  const reveal = () => {
    const row = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (row && row.closest("[hidden]")) {
      forms.forEach((form) => { form.reset(); });
      setTimeout(() => row.scrollIntoView());
    }
  };
  addEventListener("hashchange", reveal);
})();
