// A way is taken over: the job file is changed so, and the page of the job is shown.
(() => {
  const told = /** @type {HTMLElement} */ (document.getElementById("told"));
  document.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    const list = /** @type {HTMLElement | null | undefined} */ (button?.closest(".take"));
    if (!button?.dataset.edits || !list) {
      return;
    }
    const body = JSON.stringify({ seen: Number(list.dataset.seen), edits: JSON.parse(button.dataset.edits) });
    try {
      const answer = await fetch("/-/edit", { method: "POST", body });
      if (answer.ok) {
        location.assign("/");
      } else {
        told.textContent = await answer.text();
      }
    } catch {
      told.textContent = "The program has ended; start it again to go on.";
    }
  });
})();
