// Keeps who is here and the warning to stop fresh, also after the reveal.
"use strict";
setInterval(async () => {
  if (document.hidden) return;
  try {
    const answer = await fetch(location.href);
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const id of ["stop", "progress", "reveal"]) {
      const here = document.getElementById(id);
      const fresh = page.getElementById(id);
      // What somebody is about to press stays as it is.
      if (!here || !fresh || here.contains(document.activeElement) || here.querySelector("details[open]")) continue;
      if (fresh.innerHTML !== here.innerHTML) here.replaceChildren(...fresh.childNodes);
    }
  } catch (error) {
    // The next round tries again.
  }
}, 3000);
