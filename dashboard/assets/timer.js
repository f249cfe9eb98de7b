// Keeps the development timers counting between two words of the program, and goes
// on by itself when the program is lost. A press is sent without leaving the page.
"use strict";
(() => {
  const points = [30, 10, 3, 2, 1]; // seconds left at which a timer is heard
  const first = new WeakMap(); // when a face or chip was placed, on this page's own clock
  const told = new Map(); // by timer: what it went by, and how far its end had moved, when this was last told
  const heard = new Map(); // by timer: the seconds left last looked at
  const kept = new Map(); // timers that the program forgot when it was started again
  let known = new Map(); // what ran at the last look, by number
  let epoch = "";

  const text = (seconds) => { const s = Math.max(0, Math.floor(seconds + 1e-6)); return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`; };
  const voice = () => window.wetside || { play() {}, say() {}, settings: {} };
  const isLost = () => { const lost = document.getElementById("lost"); return lost !== null && !lost.hidden; };

  // left is the time to the end of a timer by now; below zero it is past it.
  function left(el) {
    if (!first.has(el)) first.set(el, performance.now());
    const passed = el.dataset.state === "paused" ? 0 : (performance.now() - first.get(el)) / 1000;
    return el.dataset.state === "done" ? -(Number(el.dataset.over) + passed) : Number(el.dataset.left) - passed;
  }
  function draw(el, seconds) {
    const time = el.querySelector(".face-time"), isUp = el.dataset.up !== undefined, shown = seconds >= 0 ? text(seconds) : (isUp ? "" : "+") + text(-seconds);
    if (time && time.textContent !== shown) time.textContent = shown;
    el.classList.toggle("done", seconds < 0 && !isUp);
    const notice = el.querySelector(".face-notice");
    if (notice && isLost()) { el.classList.add("plain"); notice.textContent = document.getElementById("timers").dataset.plain; }
  }
  // sound beeps and speaks at the agreed points as the time left passes them.
  function sound(number, bath, seconds, isRunning, callsNext = false) {
    const before = heard.get(number);
    heard.set(number, seconds);
    if (before === undefined || !isRunning || seconds > before || before - seconds > 5) return;
    const passes = (point) => before > point && seconds <= point;
    if (passes(0) && callsNext && !isLost()) return; // the next bath is called instead
    if (passes(0)) { voice().play("end"); voice().say(`${number}. ${bath}: ${document.querySelector("[data-ended]")?.dataset.ended || ""}`); return; }
    const point = points.find(passes) ?? (voice().settings.half && Math.floor(before / 30) !== Math.floor(seconds / 30) ? Math.floor(before / 30) * 30 : undefined);
    if (point === undefined) return;
    voice().play("beep");
    if (point >= 10) voice().say(`${number}: ${text(point)}`);
  }

  // tellChange says that the end of a timer moved by some seconds since this was last told, and
  // what it goes by once that is another thing: its face shows both, but nobody looks at it all the time.
  const moves = 5; // seconds that are worth a word
  const words = () => document.querySelector("[data-ended]")?.dataset || {};
  function tellChange(number, el) {
    const follows = isLost() ? "lost" : el.dataset.follows, moved = Number(el.dataset.moved), bath = el.dataset.bath, before = told.get(number);
    if (before && before.bath !== bath) { // the sheet goes on into the next bath
      told.set(number, { follows, moved, bath });
      voice().play("end");
      voice().say(`${number}. ${bath}`);
      return;
    }
    if (!before || el.dataset.state === "done") { told.set(number, { follows, moved, bath }); return; }
    if (follows !== before.follows) {
      told.set(number, { follows, moved: before.moved, bath });
      voice().play("look");
      voice().say(`${number}. ${words()[follows === "bath" ? "again" : "alone"]}`);
    } else if (follows === "bath" && Math.abs(moved - before.moved) >= moves) {
      told.set(number, { follows, moved, bath });
      voice().play("beep");
      voice().say(`${number}. ${words()[moved > before.moved ? "later" : "sooner"].replace("{}", text(Math.abs(moved - before.moved)))}`);
    }
  }

  // tellWash calls a sheet into the wash: there are more in it than before.
  const washed = new Map();
  function tellWash() {
    for (const el of document.querySelectorAll("[data-wash]")) {
      const sheets = parseInt(el.dataset.sheets, 10), before = washed.get(el.dataset.wash) ?? 0;
      washed.set(el.dataset.wash, sheets);
      if (sheets > before && document.documentElement.dataset.beat !== undefined) { voice().play("end"); voice().say(el.textContent.split(",")[0]); }
    }
    for (const paper of washed.keys()) if (!document.querySelector(`[data-wash="${CSS.escape(paper)}"]`)) washed.delete(paper);
  }

  // forget notices that the program was started again and knows nothing of the timers: they go on here.
  function forget(box, now) {
    if (!box || !box.dataset.epoch) return;
    if (epoch && epoch !== box.dataset.epoch) {
      for (const [number, c] of known) if (!now.has(number)) kept.set(`${epoch}-${number}`, { ...c, number });
    }
    epoch = box.dataset.epoch;
  }
  function drawKept() {
    const place = document.getElementById("kept"), box = document.getElementById("timers");
    if (!place || !box) return;
    place.hidden = kept.size === 0;
    for (const [id, c] of kept) {
      let row = place.querySelector(`[data-kept="${CSS.escape(id)}"]`);
      if (!row) {
        row = document.createElement("p");
        row.dataset.kept = id;
        row.append(Object.assign(document.createElement("b"), { className: "number", textContent: c.number }), Object.assign(document.createElement("span"), { className: "face-time" }), `${c.bath}. ${box.dataset.gone} `);
        const away = Object.assign(document.createElement("button"), { type: "button", className: "big", textContent: box.dataset.away });
        away.addEventListener("click", () => { kept.delete(id); row.remove(); drawKept(); });
        row.append(away);
        place.append(row);
      }
      const passed = c.state === "paused" ? 0 : (performance.now() - c.at) / 1000;
      draw(row, c.left - passed);
      sound(id, c.bath, c.left - passed, c.state === "running");
    }
  }

  function look() {
    const now = new Map();
    for (const el of document.querySelectorAll("[data-timer]")) {
      const seconds = left(el), number = el.dataset.timer;
      draw(el, seconds);
      sound(number, el.dataset.bath, seconds, el.dataset.state === "running", el.dataset.next !== undefined);
      tellChange(number, el);
      now.set(number, { state: el.dataset.state, bath: el.dataset.bath, left: seconds, at: performance.now() });
    }
    tellWash();
    forget(document.getElementById("timers"), now);
    if (!isLost() || now.size > 0) known = now;
    for (const number of heard.keys()) if (!now.has(number) && !kept.has(number)) { heard.delete(number); told.delete(number); }
    drawKept();
    hold(now.size > 0 || document.body.classList.contains("page-board"));
    const asleep = document.getElementById("asleep");
    if (asleep) asleep.hidden = now.size === 0 || "wakeLock" in navigator;
  }
  setInterval(look, 100);

  // The screen stays on while a timer runs and as long as it shows the board, where the browser can hold it.
  let lock = null;
  async function hold(isWanted) {
    if (!isWanted) { lock?.release?.(); lock = null; return; }
    if (lock || document.hidden || !("wakeLock" in navigator)) return;
    lock = {};
    try {
      lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { lock = null; });
    } catch { lock = {}; setTimeout(() => { lock = null; }, 10000); }
  }

  let refused = 0;
  function tell(sentence) {
    const place = document.getElementById("refused");
    clearTimeout(refused);
    if (sentence && document.body.classList.contains("page-board")) refused = setTimeout(() => tell(""), 15000);
    place.textContent = sentence;
    place.hidden = sentence === "";
  }
  addEventListener("submit", async (event) => {
    const form = event.target;
    if (!form.matches(".press")) return;
    event.preventDefault();
    try {
      const got = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)), headers: { Accept: "text/plain" } });
      tell(got.ok ? "" : await got.text());
    } catch {
      tell(document.querySelector("#lost p")?.textContent || "");
    }
  });

  // A foot switch is a key: each button has its own, and the space bar presses the
  // one that is most likely meant: the first timer, or a start when none runs.
  addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || document.querySelector("dialog[open]") || !(document.getElementById("dark")?.hidden ?? true)) return;
    if (event.target.matches?.("input,textarea,select")) return;
    let key = event.key.toUpperCase();
    if (key === " ") {
      if (event.target.matches?.("button,a,summary")) return;
      key = document.querySelector(".face [data-key]")?.dataset.key || "S";
    }
    const button = document.querySelector(`button[data-key="${CSS.escape(key)}"]`);
    if (!button || button.disabled) return;
    event.preventDefault();
    button.form.requestSubmit(button);
  });
})();
