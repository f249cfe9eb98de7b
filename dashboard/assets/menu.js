// A menu of the navigation opens and closes by itself; this closes one that was left open.
"use strict";
(() => {
  const open = () => document.querySelector(".menu[open]");
  const close = (menu) => { if (menu) menu.open = false; };
  addEventListener("pointerdown", (event) => { if (!event.target.closest?.(".menu[open]")) close(open()); });
  addEventListener("keydown", (event) => {
    const menu = open();
    if (event.key !== "Escape" || !menu) return;
    close(menu);
    menu.querySelector("summary").focus();
  });
  // What it covers may be the one thing that needs doing.
  let left = 0;
  addEventListener("toggle", (event) => {
    clearTimeout(left);
    if (event.target.matches?.(".menu") && event.target.open) left = setTimeout(() => close(open()), 20000);
  }, { capture: true });
})();
