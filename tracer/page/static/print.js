// The print button of the printable page; without script the browser's own print does the same.
"use strict";
const button = document.getElementById("print");
if (button) {
  button.hidden = false;
  button.addEventListener("click", () => print());
}
