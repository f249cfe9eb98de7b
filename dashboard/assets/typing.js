// Asks, while somebody types into a form of the shelf, whether it can be entered like this.
"use strict";
(() => {
  for (const form of document.querySelectorAll("form[data-typing]")) {
    const place = form.querySelector(".typing");
    let waiting = 0, asked = 0;
    const ask = async () => {
      const mine = ++asked;
      try {
        const got = await fetch(form.dataset.typing, { method: "POST", body: new URLSearchParams(new FormData(form)) });
        if (mine !== asked) return; // it was typed on meanwhile
        const field = form.contains(document.activeElement) && document.activeElement.closest(".field,fieldset");
        if (field && field.nextElementSibling !== place) field.after(place); // where the eyes are
        place.textContent = got.ok ? await got.text() : "";
      } catch { place.textContent = ""; }
      place.hidden = place.textContent === "";
      if (!place.hidden) place.scrollIntoView({ block: "nearest" });
    };
    form.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(ask, 400); });
  }
})();
