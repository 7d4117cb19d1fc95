"use strict";
(() => {
  const boxes = [...document.querySelectorAll("#cuts input")];
  const told = document.getElementById("ticked");
  const count = () => {
    told.textContent = `${boxes.filter((box) => box.checked).length} of ${boxes.length} done`;
  };
  document.getElementById("cuts").addEventListener("change", count);
  count();
})();
