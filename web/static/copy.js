// A button copies the sentence beside it. Without this script the text can be selected, and the button is not there.
for (const button of document.querySelectorAll("button.copy")) {
  const text = document.getElementById(button.dataset.copies);
  const told = button.parentElement.querySelector("[role=status]");
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(text.innerText.replaceAll("\u00a0", " "));
      told.textContent = button.dataset.copied;
    } catch {
      getSelection().selectAllChildren(text);
      told.textContent = button.dataset.notCopied;
    }
  });
}
