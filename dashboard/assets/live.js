// Keeps a live page true: replaces what changed, and takes every number off the
// page as soon as nobody vouches for it any more. The page works without this
// file by loading again.
"use strict";
(() => {
  const silence = 4000; // ms without a word until the page is lost
  const root = document.documentElement;
  const lost = document.getElementById("lost");
  const lostFor = document.getElementById("lost-for");
  const address = document.body.dataset.stream;
  if (!address || !lost) return;

  let source = null;
  let heard = Date.now(); // wall time: it goes on while a phone sleeps
  let isGone = false; // the numbers have been taken off the page

  // The length of a silence and not its time of day: the clock of this computer may be wrong.
  const length = (ms) => (ms < 120000 ? `${Math.round(ms / 1000)} s` : `${Math.floor(ms / 60000)} min`);

  // withdraw replaces every number by the sign for "no number".
  function withdraw() {
    if (isGone) return;
    isGone = true;
    for (const el of document.querySelectorAll(".live")) {
      const gone = el.dataset.gone || "";
      el.replaceChildren(gone);
      el.classList.add(gone ? "none" : "gone");
    }
    for (const el of document.querySelectorAll("[aria-live]")) el.textContent = "";
    for (const el of document.querySelectorAll(".todo")) el.classList.remove("urgent");
  }

  function sayLost() {
    lostFor.textContent = length(Math.max(0, Date.now() - heard));
    if (!lost.hidden) return;
    lost.hidden = false;
    connect(); // a new stream starts with the whole page
  }

  function vouched() {
    heard = Date.now();
    root.dataset.beat = root.dataset.beat === "a" ? "b" : "a";
  }

  // named tells which link or button this is, so that the focus stays with it when its part is drawn anew.
  const named = (el) => el.tagName + (el.getAttribute("href") || el.getAttribute("aria-label") || el.dataset.key || "");

  // An unseen alarm stands in the title too.
  const title = document.title;
  function entitle() {
    const word = document.getElementById("todo")?.dataset.word || "", said = word ? `! ${word} · ${title}` : title;
    if (document.title !== said) document.title = said;
  }

  function place(html) {
    const box = document.createElement("template");
    box.innerHTML = html;
    for (const fresh of [...box.content.children]) {
      const old = document.getElementById(fresh.id);
      if (!old) continue;
      if (old.hasAttribute("aria-live")) {
        if (old.textContent !== fresh.textContent) old.textContent = fresh.textContent;
        continue;
      }
      const active = old.contains(document.activeElement) ? named(document.activeElement) : "";
      old.replaceWith(fresh);
      if (active) [...fresh.querySelectorAll("a,button,summary")].find((el) => named(el) === active)?.focus({ preventScroll: true });
    }
  }

  function isFresh() {
    const since = Date.now() - heard;
    return since <= silence && since >= -1000;
  }

  function lose() {
    withdraw();
    sayLost();
  }

  // What arrives after a long silence was sent before it: a phone that wakes finds
  // it waiting. It is thrown away with its stream, and a new stream asked.
  function onParts(event) {
    if (document.hidden) return;
    if (!isGone && !isFresh()) return lose();
    place(event.data);
    entitle();
    isGone = false;
    lost.hidden = true;
    vouched();
  }

  function onBeat() {
    if (isGone || document.hidden) return;
    if (isFresh()) vouched(); else lose();
  }

  // Somebody who is filling in a form must not lose what was typed.
  const isTyping = () => [...document.querySelectorAll("form input:not([type=hidden])")].some((el) => el.value !== el.defaultValue || el.checked !== el.defaultChecked);

  // onLayout loads the page again when the program or the room has changed shape.
  function onLayout(event) {
    const [version, ...ids] = event.data.split(" ");
    const isWhole = ids.every((id) => document.getElementById(id)) && [...document.querySelectorAll("[data-part]")].every((el) => ids.includes(el.id));
    if (version === document.body.dataset.version && isWhole) return;
    const changed = document.getElementById("changed");
    if (changed && isTyping()) { changed.hidden = false; return; }
    const last = Number(sessionStorage.getItem("reloaded") || 0);
    if (Date.now() - last < 10000) { setTimeout(() => onLayout(event), 10000); return; }
    sessionStorage.setItem("reloaded", String(Date.now()));
    location.reload();
  }

  function connect() {
    if (source) source.close();
    source = new EventSource(address);
    source.addEventListener("parts", onParts);
    source.addEventListener("beat", onBeat);
    source.addEventListener("layout", onLayout);
  }

  setInterval(() => {
    if (document.hidden || isFresh()) return;
    lose();
    if (source.readyState === EventSource.CLOSED) connect();
  }, 250);

  // A page that goes out of sight may sleep at any moment and must not wake with
  // old numbers; a page taken out of the browser's memory is old by itself.
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) return connect();
    withdraw();
    source.close();
  });
  addEventListener("pagehide", () => { withdraw(); source.close(); });
  addEventListener("pageshow", (event) => { if (event.persisted) connect(); });

  entitle();
  connect();

  // Black screen: one press on, and only a deliberate press off: the key itself,
  // or a finger held for a second.
  const dark = document.getElementById("dark");
  const button = document.getElementById("blackout");
  if (!dark || !button) return;
  let hold = 0;
  const set = (on) => {
    dark.hidden = !on;
    sessionStorage.setItem("dark", on ? "yes" : "");
    if (on) dark.focus(); else button.focus({ preventScroll: true });
  };
  button.hidden = false;
  button.addEventListener("click", () => set(true));
  addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
    if (dark.hidden && event.target.matches?.("input,textarea,select")) return; // a letter of what is being typed
    if (event.key.toLowerCase() === "b") set(dark.hidden);
    else if (!dark.hidden) event.preventDefault();
  });
  dark.addEventListener("pointerdown", () => { clearTimeout(hold); hold = setTimeout(() => set(false), 1000); });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) dark.addEventListener(end, () => clearTimeout(hold));
  dark.addEventListener("contextmenu", (event) => event.preventDefault());
  if (sessionStorage.getItem("dark")) set(true);
})();
