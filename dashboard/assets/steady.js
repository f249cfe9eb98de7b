// Looks again and again whether a probe is steady; without this file the page does so
// by loading again.
"use strict";
setInterval(async () => {
  const card = document.getElementById("steady");
  if (!card) return;
  try {
    const answer = await fetch(location.href, { cache: "no-store" });
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("steady");
    if (fresh && fresh.textContent !== card.textContent) card.replaceChildren(...document.importNode(fresh, true).childNodes);
  } catch {
    card.replaceChildren("…"); // nobody vouches for the number any more
  }
}, 3000);
