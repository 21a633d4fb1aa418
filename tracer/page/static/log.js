// Looks at a logger file while it stays chosen, so that it need not be chosen twice.
"use strict";
const form = document.getElementById("log");
form.addEventListener("submit", async (event) => {
  if (!event.submitter || event.submitter.value === "add") return;
  event.preventDefault();
  const sent = new FormData(form);
  sent.set("step", event.submitter.value);
  const answer = await fetch(form.action, {method: "POST", body: sent});
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById("mapping") || page.querySelector(".problems");
  const mapping = document.getElementById("mapping");
  mapping.replaceChildren(...(fresh.id ? fresh.childNodes : [fresh]));
  const again = mapping.querySelector(".again");
  if (again) again.remove();
  const read = mapping.querySelector("#read");
  if (read) read.focus();
});
