// Drawings, photographs and moulds are dropped on the page, or chosen, and sent to the job one after the other.
(() => {
  const send = (/** @type {FileList | null | undefined} */ files) => {
    for (const file of files ?? []) {
      const detail = { to: `/-/bring/${encodeURIComponent(file.name)}`, body: file, told: `Reading ${file.name}` };
      document.dispatchEvent(new CustomEvent("job-send", { detail }));
    }
  };
  const carriesFiles = (/** @type {DragEvent} */ event) => event.dataTransfer?.types.includes("Files") ?? false;
  const mark = (/** @type {boolean} */ isOver) => document.body.classList.toggle("receiving", isOver);

  document.addEventListener("dragover", (event) => {
    if (carriesFiles(event)) {
      event.preventDefault();
      mark(true);
    }
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) {
      mark(false);
    }
  });
  document.addEventListener("drop", (event) => {
    mark(false);
    if (carriesFiles(event)) {
      event.preventDefault();
      send(event.dataTransfer?.files);
    }
  });
  document.addEventListener("change", (event) => {
    const field = event.target;
    if (field instanceof HTMLInputElement && field.type === "file") {
      send(field.files);
      field.value = "";
    }
  });
})();
