"use strict";
// A table whose headings are buttons that sort it: by data-v of the cells, as numbers under
// headings with data-number. What has no number comes last.
const sortable = (table) => {
  const body = table.tBodies[0];
  const rows = [...body.rows];
  for (const button of table.querySelectorAll("thead button")) {
    button.addEventListener("click", () => {
      const head = button.closest("th");
      const number = "number" in button.dataset;
      const largest = "largest" in button.dataset;
      const was = head.getAttribute("aria-sort");
      const up = was ? was === "descending" : !largest;
      for (const other of table.querySelectorAll("th[aria-sort]")) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", up ? "ascending" : "descending");
      const place = head.cellIndex;
      rows.sort((one, two) => {
        const [a, b] = [one.cells[place].dataset.v, two.cells[place].dataset.v];
        if (number && (a === "" || b === "")) return (a === "") - (b === "");
        const order = number ? a - b : a.localeCompare(b, "en", { numeric: true });
        return up ? order : -order;
      });
      body.append(...rows);
    });
  }
};
