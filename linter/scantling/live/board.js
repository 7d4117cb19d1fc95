"use strict";
{
  const frame = document.querySelector("iframe");
  const status = document.querySelector("p");
  let shown = Number(document.documentElement.dataset.number);
  const source = new EventSource("/changes");
  source.addEventListener("message", (event) => {
    const { number, words } = JSON.parse(event.data);
    status.textContent = words;
    if (number !== shown) {
      shown = number;
      frame.contentWindow.location.reload();
    }
  });
  source.addEventListener("error", () => {
    status.textContent = "Not watched any more";
  });
}
