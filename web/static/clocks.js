// The clock on the wall, and the flash at which a strap's button is pressed: the moment of the flash is what is kept.
"use strict";
const wall = document.querySelector("[data-clock]");
const flash = document.getElementById("flash");
const shift = wall ? new Date().setHours(...wall.textContent.split(":").map(Number), 0) - Date.now() : 0;

function show() {
  const now = new Date(Date.now() + shift);
  wall.textContent = [now.getHours(), now.getMinutes(), now.getSeconds()].map((n) => String(n).padStart(2, "0")).join(":");
}

// After the press the screen waits for the next whole second, flashes, and sends the form at that moment.
document.addEventListener("submit", (event) => {
  const button = event.submitter;
  if (!button || !button.hasAttribute("data-flash") || button.dataset.ready) return;
  event.preventDefault();
  const wait = 3000 - (Date.now() + shift) % 1000;
  wall.scrollIntoView({ block: "center" });
  wall.classList.add("soon");
  setTimeout(() => {
    flash.hidden = false;
    button.dataset.ready = "1";
    button.form.requestSubmit(button);
  }, wait);
});

if (wall) { show(); setInterval(show, 250); }
