// The two sounds of a page, and its speech where somebody wants it. Everything is
// made by the browser itself; a setting stays on this computer.
"use strict";
(() => {
  const repeat = { act: 60000, look: 180000 }; // ms until an alarm that nobody has seen sounds again
  const store = {
    get: (key) => { try { return localStorage.getItem("wetside-" + key) === "on"; } catch { return false; } },
    set: (key, on) => { try { localStorage.setItem("wetside-" + key, on ? "on" : "off"); } catch { /* the setting lasts as long as the page */ } settings[key] = on; },
  };
  const settings = { sound: store.get("sound"), speech: store.get("speech"), half: store.get("half") };

  let audio = null;
  // wake makes the loudspeaker ready; a browser lets it only after a press.
  function wake() {
    audio ??= new AudioContext();
    if (audio.state === "suspended") audio.resume().then(show, () => {});
    show();
  }
  const isReady = () => audio !== null && audio.state === "running";

  function tone(frequency, from, length) {
    const voice = audio.createOscillator(), loudness = audio.createGain(), at = audio.currentTime + from;
    voice.frequency.value = frequency;
    loudness.gain.setValueAtTime(0, at);
    loudness.gain.linearRampToValueAtTime(0.5, at + 0.02);
    loudness.gain.setValueAtTime(0.5, at + length - 0.03);
    loudness.gain.linearRampToValueAtTime(0, at + length);
    voice.connect(loudness).connect(audio.destination);
    voice.start(at);
    voice.stop(at + length);
  }
  // Look rises once, calmly; act is a run of fast pairs. Beep is the timer's.
  const sounds = {
    look: () => { tone(520, 0, 0.35); tone(780, 0.4, 0.5); },
    act: () => { for (let i = 0; i < 6; i++) { tone(880, i * 0.5, 0.18); tone(660, i * 0.5 + 0.22, 0.18); } },
    beep: () => tone(1040, 0, 0.16),
    end: () => { tone(1040, 0, 0.2); tone(1040, 0.3, 0.2); tone(1320, 0.6, 0.6); },
  };
  function play(name) {
    if (!isReady()) return false;
    sounds[name]();
    document.documentElement.dataset.played = name;
    return true;
  }
  function say(text) {
    if (!settings.speech || !text || !("speechSynthesis" in window)) return;
    speechSynthesis.cancel();
    const words = new SpeechSynthesisUtterance(text);
    words.lang = document.documentElement.lang;
    speechSynthesis.speak(words);
  }
  // In words a voice reads well: "2:06" becomes "2 minutes 6 seconds".
  function spoken(text) {
    const [minute, minutes, second, seconds] = (document.getElementById("sound")?.dataset.lengths || "").split("|");
    const length = (n, one, more) => n > 0 && `${n} ${n === 1 ? one : more}`;
    return text.replace(/(\d+):(\d\d)/g, (_, m, s) => [length(Number(m), minute, minutes), length(Number(s), second, seconds)].filter(Boolean).join(" "));
  }

  window.wetside = { play: (name) => settings.sound && play(name), say: (text) => say(spoken(text)), settings };

  // The alarm of the page: heard when it is new, and again until somebody has seen it.
  let heardFor = "", heardAt = 0;
  function alarm() {
    const todo = document.getElementById("todo");
    const kind = todo?.dataset.sound || "", which = todo?.dataset.alarms || "";
    if (!kind) { heardFor = ""; return; }
    const isNew = which.split(" ").some((one) => !heardFor.split(" ").includes(one));
    heardFor = which;
    if (!isNew && performance.now() - heardAt < repeat[kind]) return;
    if (!(settings.sound && play(kind)) && !settings.speech) return;
    heardAt = performance.now();
    say(spoken(todo.innerText));
  }
  let told = document.querySelector(".announce")?.innerText || "";
  function announce() {
    const text = [...document.querySelectorAll(".announce")].map((el) => el.innerText).join(". ");
    if (text && text !== told) say(spoken(text));
    told = text;
  }
  setInterval(() => { if (!document.hidden) { alarm(); announce(); } }, 500);

  const button = document.getElementById("sound"), box = document.getElementById("sound-box");
  function show() {
    if (!button) return;
    const word = !settings.sound ? button.dataset.off : isReady() ? button.dataset.on : button.dataset.waits;
    if (button.firstElementChild.textContent !== word) button.firstElementChild.textContent = word;
  }
  for (const press of ["pointerdown", "keydown"]) addEventListener(press, () => { if (settings.sound) wake(); }, { capture: true });
  for (const place of document.querySelectorAll("[data-sounds]")) place.hidden = false;
  for (const one of document.querySelectorAll("[data-play]")) one.addEventListener("click", async () => {
    wake();
    await audio.resume();
    play(one.dataset.play);
  });
  if (!button || !box) return;
  button.hidden = false;
  const open = () => { for (const tick of box.querySelectorAll("[data-setting]")) tick.checked = settings[tick.dataset.setting]; box.showModal(); };
  button.addEventListener("click", () => { const menu = button.closest("details"); if (menu) menu.open = false; open(); });
  addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey || box.open || !(document.getElementById("dark")?.hidden ?? true)) return;
    if (event.target.matches?.("input,textarea,select")) return; // a letter of what is being typed
    if (event.key.toLowerCase() === "l" && document.documentElement.dataset.keys === "on") open(); // only where keys are listed and can be switched off
  });
  box.querySelector("[data-close]").addEventListener("click", () => box.close());
  for (const tick of box.querySelectorAll("[data-setting]")) tick.addEventListener("change", async () => {
    store.set(tick.dataset.setting, tick.checked);
    if (tick.checked && tick.dataset.setting === "sound") { wake(); await audio.resume(); play("look"); }
    if (tick.checked && tick.dataset.setting === "speech") say(spoken(document.getElementById("say")?.textContent || document.getElementById("todo")?.innerText || ""));
    show();
  });
  // The test is entered without leaving the page, so that its sound goes on.
  const form = box.querySelector("form");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const answer = form.querySelector(".heard-answer");
    const body = new URLSearchParams(new FormData(form, event.submitter));
    try {
      const got = await fetch(form.action, { method: "POST", body, headers: { Accept: "text/plain" } });
      answer.textContent = await got.text();
    } catch {
      answer.textContent = document.querySelector("#lost p")?.textContent || "";
    }
  });
  show();
})();
