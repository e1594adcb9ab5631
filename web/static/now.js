/* Shows how long each phase has lasted, and sends a press without loading the screen anew: only what the press changed
   is drawn again, so that nothing typed, ticked or just being pressed beside it is lost. Everything works without it. */
"use strict";
const LONGEST_S = 6 * 3600; // a phase that nobody ended is not counted into the night
const said = new WeakMap(); // what the page said of a row when it came
const newest = new Map(); // of each row the last press that was sent
const turn = new Map(); // of each row the answer that its next press waits for: in the order pressed, in that order kept
let sent = 0, away = 0, together = false, down = null;

const list = () => document.getElementById("class-list");
const key = (row) => row.querySelector(".press [name=test]").value;

function plain(row) {
  const copy = row.cloneNode(true);
  for (const each of copy.querySelectorAll("[name=once]")) each.remove();
  return copy.className + copy.innerHTML;
}

/** Remember what was said of each row; before anything in it is counted, typed or unfolded. */
function remember(rows) {
  for (const each of rows) said.set(each, plain(each));
}

function tick() {
  const now = Date.now();
  for (const each of document.querySelectorAll("[data-since]")) {
    if (!each.dataset.since) continue;
    if (!each.dataset.told) each.dataset.told = each.textContent;
    const seconds = Math.max(0, Math.round((now - Date.parse(each.dataset.since)) / 1000));
    each.textContent = seconds > LONGEST_S ? each.dataset.told : `${each.dataset.told} (${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")})`;
  }
}

/** Somebody is at work in it: a finger is down, the keys lead there, something is typed, ticked or unfolded. */
function used(part) {
  return part.contains(down) || part.contains(document.activeElement) || !!part.querySelector("details[open]")
    || [...part.querySelectorAll("input:not([type=hidden])")].some((each) => each.value !== each.defaultValue || each.checked);
}

/** Which rows a form is about. */
function rowsOf(form) {
  if (form.id === "several") return [...document.querySelectorAll(".pick input:checked")].map((each) => each.value);
  const row = form.closest("#class-list > li");
  return row ? [key(row)] : [];
}

/** One row of the screen that came in the place of the one that stands there. */
function swap(old, row) {
  const led = old.contains(document.activeElement);
  old.replaceWith(row);
  if (led) (row.querySelector(".press button") || row.querySelector("summary")).focus({ preventScroll: true });
}

/** The lines that can be undone, and the mark by which the next press of several is known. */
function rest(found) {
  const mark = "#several [name=once]", old = document.querySelector("ul.last"), now = found.querySelector("ul.last");
  document.querySelector(mark).value = found.querySelector(mark).value;
  if (old && now) {
    const led = old.contains(document.activeElement);
    old.replaceWith(now);
    if (led) now.querySelector("button").focus({ preventScroll: true });
  } else if (now) list().after(found.getElementById("last"), now);
  else if (old) for (const each of [document.getElementById("last"), old]) each.remove();
}

/** What came is drawn: the rows that were pressed, and of the others those that nobody is at work in. */
function drawn(found, pressed, alone) {
  const rows = [...found.querySelectorAll("#class-list > li")], there = new Map([...list().children].map((row) => [key(row), row]));
  remember(rows);
  const same = rows.length === there.size && [...there.keys()].every((each, k) => each === key(rows[k]));
  if (!same && alone && ![...list().children].some((row) => !pressed.includes(key(row)) && used(row))) {
    const [led] = pressed.filter((each) => there.get(each)?.contains(document.activeElement));
    document.getElementById("main").replaceWith(found.getElementById("main"));
    rows.find((row) => key(row) === led)?.querySelector(".press button")?.focus({ preventScroll: true });
  } else {
    for (const row of rows) {
      const old = there.get(key(row));
      if (!old || said.get(old) === said.get(row)) continue;
      if (pressed.includes(key(row)) || (alone && !used(old))) swap(old, row);
    }
    rest(found);
  }
  tick();
}

/** The screen that an answer brings, once a press that has begun on this one has ended. */
async function screen(answer) {
  const found = new DOMParser().parseFromString(await answer.text(), "text/html");
  if (!answer.ok || !found.getElementById("class-list")) throw new Error("not kept");
  while (down) await new Promise((done) => setTimeout(done, 20));
  return found;
}

/** Sends once what was pressed of these rows before is answered: two that are on their way may overtake each other. */
function inTurn(rows, form, body) {
  const going = Promise.allSettled(rows.map((each) => turn.get(each)))
    .then(() => fetch(form.action, { method: "POST", body, redirect: "follow" }));
  for (const each of rows) turn.set(each, going);
  return going;
}

async function send(form, button) {
  const fields = new URLSearchParams(new FormData(form)), pressed = rowsOf(form), mine = ++sent;
  if (button && button.name) fields.set(button.name, button.value);
  for (const each of pressed) newest.set(each, mine);
  together = away > 0 || together;
  away += 1;
  try {
    const found = await screen(await inTurn(pressed, form, fields));
    if (form.id === "several") for (const each of document.querySelectorAll(".pick input")) each.checked &&= !pressed.includes(each.value);
    drawn(found, pressed.filter((each) => newest.get(each) === mine), !together);
  } finally {
    away -= 1;
  }
  if (!away && together) await whole();
}

/** Of presses that were on their way together one answer may not know of the other: the screen is asked for once more. */
async function whole() {
  const last = sent;
  together = false;
  try {
    const found = await screen(await fetch(location.pathname, { cache: "no-store" }));
    if (sent === last) drawn(found, [], true);
  } catch { /* each press is drawn already; what else is new comes with the next */ }
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.closest("#main") || !list() || form.dataset.whole) return;
  event.preventDefault();
  const button = event.submitter;
  send(form, button).catch(() => {
    form.dataset.whole = "1"; // as without this script
    form.requestSubmit(button);
  });
});

document.addEventListener("pointerdown", (event) => { down = event.target; }, true);
document.addEventListener("pointercancel", () => { down = null; }, true);
// The click of a mouse comes with its release, that of a finger a little later.
document.addEventListener("pointerup", (event) => setTimeout(() => { down = null; }, event.pointerType === "mouse" ? 0 : 300), true);

// Arrow keys lead from one student's button to the next one's.
document.addEventListener("keydown", (event) => {
  if (event.key !== "ArrowDown" && event.key !== "ArrowUp") return;
  const row = event.target.closest && event.target.closest(".class-list > li");
  if (!row || !event.target.closest(".press")) return;
  const other = event.key === "ArrowDown" ? row.nextElementSibling : row.previousElementSibling;
  const button = other && other.querySelector(".press button");
  if (button) { event.preventDefault(); button.focus(); }
});

if (list()) {
  remember(list().children);
  tick();
  setInterval(tick, 1000);
}
