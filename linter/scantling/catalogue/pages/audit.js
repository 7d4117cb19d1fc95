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
      button.setAttribute("aria-pressed", button.getAttribute("aria-pressed") !== "true");
      sift();
    });
  }

  for (const button of audit.querySelectorAll("thead button")) {
    button.addEventListener("click", () => {
      const head = button.closest("th");
      const { column } = button.dataset;
      const number = "number" in button.dataset || column === "2";
      const up = head.getAttribute("aria-sort") !== "ascending";
      for (const other of audit.querySelectorAll("th[aria-sort]")) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      rows.sort((one, two) => {
        const [a, b] = [one.cells[column].dataset.v, two.cells[column].dataset.v];
        if (number && (a === "" || b === "")) return (a === "") - (b === "");
        const order = number ? a - b : a.localeCompare(b, "en", { numeric: true });
        return up ? order : -order;
      });
      body.append(...rows);
    });
  }
})();
