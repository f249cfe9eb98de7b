// A stopwatch beside a field for seconds: the first press starts it, the second writes
// the time into the field. It goes by the page's own clock, which no step of the time moves.
"use strict";
for (const button of document.querySelectorAll(".stopwatch")) {
  const field = document.getElementById(button.dataset.for);
  let from = null;
  button.hidden = false;
  button.addEventListener("click", () => {
    const now = performance.now();
    if (from === null) {
      from = now;
      field.value = "";
      button.textContent = button.dataset.stop;
      return;
    }
    field.value = ((now - from) / 1000).toFixed(1);
    from = null;
    button.textContent = button.dataset.start;
    field.focus();
  });
}
