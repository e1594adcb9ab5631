/* Before a form is sent, ask whether the page still runs and is not locked. If not, say so and keep what was typed: the
   browser's own error page would take it away. Without this script forms are sent at once. */
"use strict";
window.addEventListener("submit", async (event) => {
  const form = event.target;
  if (event.defaultPrevented || form.dataset.asked) {
    delete form.dataset.asked;
    return;
  }
  event.preventDefault();
  if (form.dataset.asking) return; // pressed twice while the page is being asked: the first press counts
  form.dataset.asking = "1";
  const button = event.submitter;
  let status = 0;
  try {
    status = (await fetch("/alive", { method: "HEAD", cache: "no-store" })).status;
  } catch { /* nobody answers */ }
  delete form.dataset.asking;
  if (status === 204) {
    form.dataset.asked = "1";
    form.requestSubmit(button);
    return;
  }
  const said = document.getElementById("gone");
  said.textContent = status ? said.dataset.locked : said.dataset.ended;
  said.hidden = false;
  said.focus();
});
