// Files, folders and archives that are dropped anywhere on the screen: sent three at a time, each kept as it arrives.
// It stands right behind the form and runs at once: what is below may take a while to be read, and a file that was
// chosen or dropped meanwhile would else be lost, or shown by the browser in the place of the page.
"use strict";
const form = document.getElementById("drop");
const status_ = document.getElementById("sending");
const AT_ONCE = 3;

// Every entry is taken before the first wait: the browser forgets what was dropped after that.
async function filesOf(items) {
  const entries = [...items].map((item) => item.webkitGetAsEntry && item.webkitGetAsEntry()).filter(Boolean);
  const found = [];
  const walk = async (entry) => {
    if (entry.isFile) {
      if (!entry.name.startsWith(".")) found.push(await new Promise((done, failed) => entry.file(done, failed)));
      return;
    }
    const reader = entry.createReader();
    for (;;) {
      const some = await new Promise((done, failed) => reader.readEntries(done, failed));
      if (!some.length) return;
      for (const each of some) await walk(each);
    }
  };
  for (const each of entries) await walk(each);
  return found;
}

function say(text, values) {
  status_.textContent = text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
}

// One queue for all that is chosen or dropped: the screen is left once nothing of it is on its way any more.
const waiting = [];
let all = 0, sent = 0, failed = 0, busy = 0, senders = 0, leaving = false;

async function deliver() {
  senders += 1;
  for (let file; (file = waiting.shift()); ) {
    const body = new FormData();
    body.append("one_of_many", "1");
    body.append("files", file, file.name);
    try {
      const answer = await fetch(form.action, { method: "POST", body, redirect: "manual" });
      if (answer.type !== "opaqueredirect" && !answer.ok) failed += 1;
    } catch { failed += 1; }
    sent += 1;
    say(form.dataset.sending, { count: sent, of: all });
  }
  senders -= 1;
}

// Whatever is under way, reading a folder or sending; behind the last of it the screen is loaded anew.
async function under(work) {
  busy += 1;
  try { await work(); } catch { failed += 1; }
  busy -= 1;
  if (busy || !(sent || failed)) return;
  if (failed) say(form.dataset.failed, { count: failed });
  else {
    leaving = true;
    location.assign(location.pathname);
  }
  all = sent = failed = 0;
}

function send(files) {
  if (leaving) window.stop(); // what is chosen while the next screen is on its way would go down with this one
  leaving = false;
  waiting.push(...files);
  all += files.length;
  say(form.dataset.sending, { count: sent, of: all });
  while (senders < Math.min(AT_ONCE, waiting.length + senders)) under(deliver);
}

if (form) {
  for (const name of ["dragenter", "dragover"]) {
    document.addEventListener(name, (event) => { event.preventDefault(); form.classList.add("over"); });
  }
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) form.classList.remove("over"); });
  document.addEventListener("drop", async (event) => {
    event.preventDefault();
    form.classList.remove("over");
    const { items } = event.dataTransfer;
    under(async () => {
      const files = await filesOf(items);
      if (files.length) send(files);
    });
  });
  document.getElementById("chosen").addEventListener("change", (event) => {
    if (event.target.files.length) send(event.target.files);
  });
}
