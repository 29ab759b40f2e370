/* Shows of a table only the rows that the choices above it ask for. Without it every row is there, and
   links lead to the parts; so nothing depends on it. */
"use strict";
(() => {
  const forms = document.querySelectorAll("form.mb-filter");

  const fits = (row, choices) =>
    choices.every(([name, value]) => !value || (row.getAttribute(`data-${name}`) ?? "") === value);

  const apply = (form) => {
    const table = document.getElementById(form.dataset.for);
    const rows = [...table.querySelectorAll("tbody tr[data-row]")];
    const choices = [...form.querySelectorAll("select")].map((s) => [s.name, s.value]);
    rows.forEach((row) => { row.hidden = !fits(row, choices); });
    // a heading row stays only while one of its rows does
    table.querySelectorAll("tbody").forEach((body) => {
      const own = [...body.querySelectorAll("tr[data-row]")];
      if (own.length && own.length < body.rows.length) body.hidden = own.every((row) => row.hidden);
    });
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
