// Offers the people who entered something last as buttons beside each field for a name.
"use strict";
(() => {
  const names = document.getElementById("names");
  const offer = (input) => {
    if (input.type === "hidden" || input.value || input.closest(".signed") || input.nextElementSibling?.className === "names") return;
    const row = document.createElement("span");
    row.className = "names";
    row.append(names.content.cloneNode(true));
    row.addEventListener("click", (event) => {
      if (event.target.type !== "button") return;
      input.value = event.target.textContent;
      input.dispatchEvent(new Event("input", { bubbles: true }));
    });
    input.after(row);
  };
  document.querySelectorAll("input[name=who]").forEach(offer);
})();
