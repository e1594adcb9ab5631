// Shows how long each phase has lasted, and sends a press without loading the screen anew. Everything works without it.
"use strict";
const list = document.getElementById("class-list");
const LONGEST_S = 6 * 3600; // a phase that nobody ended is not counted into the night

function tick() {
  const now = Date.now();
  for (const each of document.querySelectorAll("[data-since]")) {
    if (!each.dataset.since) continue;
    if (!each.dataset.told) each.dataset.told = each.textContent;
    const seconds = Math.max(0, Math.round((now - Date.parse(each.dataset.since)) / 1000));
    each.textContent = seconds > LONGEST_S ? each.dataset.told : `${each.dataset.told} (${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")})`;
  }
}

async function send(form, button) {
  const fields = new URLSearchParams(new FormData(form));
  if (button && button.name) fields.set(button.name, button.value);
  const answer = await fetch(form.action, { method: "POST", body: fields, redirect: "follow" });
  const found = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (!answer.ok || !found.getElementById("class-list")) throw new Error("not kept");
  const row = button.closest("li[id]");
  document.getElementById("main").replaceWith(found.getElementById("main"));
  const again = row && document.getElementById(row.id);
  const next = again && again.querySelector(".press button");
  if (next) next.focus({ preventScroll: true });
  tick();
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.closest("#main") || !document.getElementById("class-list")) return;
  event.preventDefault();
  const button = event.submitter;
  send(form, button).catch(() => {
    if (button && button.name) {
      const pressed = document.createElement("input");
      Object.assign(pressed, { type: "hidden", name: button.name, value: button.value });
      form.append(pressed);
    }
    form.submit();
  });
});

// Arrow keys lead from one student's button to the next one's.
document.addEventListener("keydown", (event) => {
  if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
  const row = event.target.closest && event.target.closest(".class-list > li");
  if (!row || !event.target.closest(".press")) return;
  const other = event.key === "ArrowDown" ? row.nextElementSibling : row.previousElementSibling;
  const button = other && other.querySelector(".press button");
  if (button) { event.preventDefault(); button.focus(); }
});

if (list) { tick(); setInterval(tick, 1000); }
