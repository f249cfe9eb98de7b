// Single keys of the board and the timers: they can be switched off for this computer, and
// are listed on "?". This file comes before all others that listen to keys.
"use strict";
(() => {
  const root = document.documentElement, name = "wetside-keys";
  const store = { get: () => { try { return localStorage.getItem(name); } catch { return null; } }, set: (v) => { try { localStorage.setItem(name, v); } catch { /* lasts as long as the page */ } } };
  const set = (on) => { root.dataset.keys = on ? "on" : "off"; };
  set(store.get() !== "off");

  const isDark = () => !(document.getElementById("dark")?.hidden ?? true);
  const isTyping = (el) => el.matches?.("input:not([type=checkbox]),textarea,select");
  // What a single key would do is stopped here while keys are off; a black screen has the focus, and its key leads back.
  addEventListener("keydown", (event) => {
    if (root.dataset.keys !== "off" || event.key.length !== 1 || event.ctrlKey || event.metaKey || event.altKey || isDark()) return;
    event.stopImmediatePropagation();
  }, { capture: true });

  const menu = document.getElementById("menu"), box = document.getElementById("keys-box");
  const does = {
    full: () => (document.fullscreenElement ? document.exitFullscreen() : root.requestFullscreen()).catch(() => {}),
    dark: () => document.getElementById("blackout").click(),
    keys: () => { box.querySelector("[data-keys]").checked = root.dataset.keys !== "off"; box.showModal(); },
  };
  for (const button of document.querySelectorAll("[data-does]")) {
    button.hidden = button.dataset.does === "full" && !document.fullscreenEnabled;
    button.addEventListener("click", () => { menu.open = false; does[button.dataset.does](); });
  }
  box?.querySelector("[data-close]").addEventListener("click", () => box.close());
  box?.querySelector("[data-keys]").addEventListener("change", (event) => { set(event.target.checked); store.set(event.target.checked ? "on" : "off"); });

  addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || isDark() || isTyping(event.target) || document.querySelector("dialog[open]")) return;
    if (event.key === "?" && box) does.keys();
    else if (event.key.toLowerCase() === "m" && menu) { menu.open = !menu.open; menu.querySelector(menu.open ? "a" : "summary").focus(); }
  });
})();
