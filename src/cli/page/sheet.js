// A layup sheet at the mould: boxes are ticked and blanks filled in on the screen, and kept in the job's record.
// Ticking a batch starts its clock.
(() => {
  const sheet = decodeURIComponent(location.pathname.slice(1));
  const look = document.createElement("style");
  look.textContent = `
    body { font-size: 1.25rem; max-width: 64rem; }
    .steps li { margin: .7rem 0; }
    .check { font: inherit; min-width: 2.75rem; min-height: 2.75rem; margin: .1rem .3rem .1rem 0; border: 2px solid var(--ink); background: var(--paper); color: var(--ink); cursor: pointer; }
    .check[aria-checked=true] { background: var(--ink); color: var(--paper); }
    .written { font: inherit; width: 9rem; min-height: 2.5rem; border: 0; border-bottom: 2px solid var(--ink); background: var(--paper); color: var(--ink); }
    td .written { width: 100%; min-width: 5rem; }
    .clock { font-weight: 700; padding: .2rem .5rem; border: 2px solid var(--ink); white-space: nowrap; }
    .clock.soon { background: var(--warn); color: var(--paper); }
    .clock.over { background: var(--ink); color: var(--paper); }
    .untold { position: sticky; top: 0; padding: .5rem 1rem; background: var(--warn); color: var(--paper); }
  `;
  document.head.append(look);

  const told = document.createElement("p");
  told.className = "untold";
  told.setAttribute("role", "alert");
  told.hidden = true;
  document.body.prepend(told);

  /** Keeps that `what` says `is`; answers whether it is on the disk. */
  const note = async (/** @type {string} */ what, /** @type {string} */ is) => {
    try {
      const answer = await fetch("/-/record/" + encodeURIComponent(sheet), { method: "POST", body: JSON.stringify({ what, is }) });
      told.textContent = answer.ok ? "" : await answer.text();
    } catch {
      told.textContent = "The program has ended: what you tick now is not kept.";
    }
    told.hidden = told.textContent === "";
    return told.hidden;
  };

  let sound = /** @type {AudioContext | undefined} */ (undefined);
  const beep = () => {
    if (!sound) {
      return;
    }
    const tone = sound.createOscillator();
    tone.connect(sound.destination);
    tone.start();
    tone.stop(sound.currentTime + 0.4);
  };

  /** Shows how much of its work time a batch has left. */
  const clock = (/** @type {Element} */ beside, /** @type {number} */ minutes, /** @type {number} */ began) => {
    const shown = document.createElement("span");
    shown.className = "clock";
    shown.setAttribute("role", "timer");
    beside.after(shown);
    let warned = 0;
    const show = () => {
      if (!shown.isConnected) {
        return;
      }
      const left = minutes * 60 - (Date.now() - began) / 1000;
      const amount = Math.floor(Math.abs(left));
      const text = `${Math.floor(amount / 60)}:${String(amount % 60).padStart(2, "0")}`;
      shown.textContent = left >= 0 ? `${text} left` : `over by ${text}: do not use it`;
      const stage = left < 0 ? 2 : left < Math.max(120, minutes * 15) ? 1 : 0;
      shown.classList.toggle("soon", stage === 1);
      shown.classList.toggle("over", stage === 2);
      if (stage > warned) {
        beep();
        warned = stage;
      }
      setTimeout(show, 1000);
    };
    show();
  };

  /** The minutes in the column "Work time" of the row that `at` is in. */
  const workTime = (/** @type {Element} */ at) => {
    const row = at.closest("tr");
    const heads = [...(row?.closest("table")?.querySelectorAll("thead th") ?? [])];
    const column = heads.findIndex((head) => head.textContent?.startsWith("Work time"));
    const text = column < 0 ? "" : row?.children[column]?.textContent ?? "";
    const hours = /(\d+) h/.exec(text)?.[1] ?? 0;
    const minutes = /(\d+) min/.exec(text)?.[1] ?? 0;
    return Number(hours) * 60 + Number(minutes);
  };

  const words = (/** @type {Element | null} */ around) => (around?.textContent ?? "").replace(/☐/g, "").replace(/\s+/g, " ").trim().slice(0, 60);

  const start = async () => {
    const kept = await (await fetch("/-/record/" + encodeURIComponent(sheet))).json();
    let n = 0;
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    /** @type {Text[]} */
    const boxes = [];
    while (texts.nextNode()) {
      const text = /** @type {Text} */ (texts.currentNode);
      if (text.data.includes("☐") && !text.parentElement?.closest("svg")) {
        boxes.push(text);
      }
    }
    for (const text of boxes) {
      const around = text.parentElement;
      const box = document.createElement("button");
      box.type = "button";
      box.className = "check";
      box.setAttribute("role", "checkbox");
      n += 1;
      const label = words(around);
      const what = `${n} ${label}`;
      box.setAttribute("aria-label", label || `box ${n}`);
      const at = text.data.indexOf("☐");
      const rest = text.splitText(at);
      rest.data = rest.data.slice(1);
      rest.before(box);
      const minutes = workTime(box);
      const show = (/** @type {string} */ is) => {
        box.setAttribute("aria-checked", String(is !== ""));
        box.textContent = is === "" ? "" : "✓";
        box.parentElement?.querySelectorAll(".clock").forEach((one) => one.remove());
        const began = Date.parse(is);
        if (minutes && began) {
          clock(box, minutes, began);
        }
      };
      show(kept[what] ?? "");
      box.addEventListener("click", async () => {
        sound ??= new AudioContext();
        const is = box.getAttribute("aria-checked") === "true" ? "" : new Date().toISOString();
        if (await note(what, is)) {
          show(is);
        }
      });
    }
    n = 0;
    for (const blank of document.querySelectorAll(".blank, td.write")) {
      const field = document.createElement("input");
      field.className = "written";
      n += 1;
      const table = blank.closest("table");
      const place = [...(blank.parentElement?.children ?? [])].indexOf(blank);
      const head = table?.querySelectorAll("thead th")[place];
      const label = words(table ? head ?? null : blank.parentElement);
      const what = `blank ${n} ${label}`;
      field.setAttribute("aria-label", label || `blank ${n}`);
      field.value = kept[what] ?? "";
      field.addEventListener("change", () => note(what, field.value));
      blank.append(field);
      if (blank instanceof HTMLElement && !table) {
        blank.style.cssText = "width:auto;border:0";
      }
    }
  };
  start();
})();
