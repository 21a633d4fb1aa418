// Copies the letter or the link; without script it can be selected by hand.
"use strict";
const button = document.getElementById("copy");
if (button) {
  button.hidden = false;
  button.addEventListener("click", async () => {
    const letter = document.getElementById("letter");
    const said = document.getElementById("copied");
    try {
      await navigator.clipboard.writeText(letter.value);
    } catch (error) {
      letter.focus();
      letter.select();
      document.execCommand("copy");
    }
    said.textContent = said.dataset.said;
  });
}
