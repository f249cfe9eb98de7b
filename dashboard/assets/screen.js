// Counts down the steps of a sheet under the light of the screen. One press starts a
// step; between steps the card is moved, however long that takes in the dark.
"use strict";
(() => {
  const start = document.getElementById("light-start"), now = document.getElementById("light-now");
  const parts = [...document.querySelectorAll(".light-parts li")];
  let at = 0, until = 0;
  const text = (s) => `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
  const tell = (words) => { now.textContent = words; window.wetside?.say(words); };

  async function stayAwake() {
    try { await navigator.wakeLock?.request("screen"); } catch { /* the screen keeps its own time */ }
  }
  function begin() {
    if (until || at >= parts.length) return;
    until = performance.now() + Number(parts[at].dataset.seconds) * 1000;
    parts[at].classList.add("running");
    start.hidden = true;
    tell(start.dataset.wait);
    stayAwake();
  }
  function end() {
    parts[at].classList.replace("running", "over");
    until = 0;
    at++;
    window.wetside?.play("end");
    tell(at < parts.length ? start.dataset.cover : start.dataset.done);
    start.hidden = at >= parts.length;
    start.focus();
  }
  setInterval(() => {
    if (!until) return;
    const left = Math.max(0, Math.ceil((until - performance.now()) / 1000));
    parts[at].querySelector(".light-left").textContent = text(left);
    if (left === 0) end();
  }, 100);
  start.addEventListener("click", begin);
  start.hidden = false;
  start.focus(); // Enter or the space bar presses it in the dark
  tell("");
})();
