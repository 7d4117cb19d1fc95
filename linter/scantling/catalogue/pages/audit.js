"use strict";
(() => {
  const audit = document.getElementById("audit");
  const body = audit.querySelector("tbody");
  const rows = [...body.rows];
  const sieve = audit.querySelector(".sieve");
  const find = audit.querySelector("#find");
  const stock = audit.querySelector("#stock");
  const left = audit.querySelector("#left");
  const words = new Map(rows.map((row) => [row, row.textContent.toLowerCase()]));
  sieve.hidden = false;

  const sift = () => {
    const sought = find.value.trim().toLowerCase();
    const verdicts = new Set(
      [...sieve.querySelectorAll('[aria-pressed="true"]')].map((button) => button.dataset.verdict));
    let count = 0;
    for (const row of rows) {
      row.hidden = !verdicts.has(row.dataset.verdict)
        || Boolean(stock?.value && row.dataset.stock !== stock.value)
        || !words.get(row).includes(sought);
      count += !row.hidden;
    }
    left.textContent = count === rows.length ? "" : `${count} of ${rows.length}`;
  };
  find.addEventListener("input", sift);
  stock?.addEventListener("change", sift);
  for (const button of sieve.querySelectorAll("button")) {
    button.addEventListener("click", () => {
      button.setAttribute("aria-pressed", String(button.getAttribute("aria-pressed") !== "true"));
      sift();
    });
  }
  sortable(audit.querySelector("table"));
})();
