// Shows what an answer would change without leaving the page; without script the links load it.
"use strict";
const show = async (address, keep) => {
  const answer = await fetch(address);
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("live");
  if (!answer.ok || !fresh) {
    location.assign(address);
    return;
  }
  const live = document.getElementById("live");
  for (const part of live.querySelectorAll("details[id][open]")) {
    const same = fresh.querySelector(`#${part.id}`);
    if (same) same.open = true;
  }
  live.replaceWith(fresh);
  if (keep) history.pushState(null, "", address);
  const supposed = fresh.querySelector(".supposed") || document.querySelector("h1");
  supposed.tabIndex = -1;
  supposed.focus();
};
document.addEventListener("click", (event) => {
  const link = event.target.closest("a.live");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  show(link.href, true).catch(() => location.assign(link.href));
});
addEventListener("popstate", () => { if (!location.hash) show(location.href, false).catch(() => location.reload()); });
