// The page's own script: sends what is changed, and shows what has come of it. Every change is named by the
// field or button itself (data-at, data-edit), so that nothing here knows the job file.
(() => {
  // The key has become a cookie; in the address it could be seen over a shoulder.
  if (location.search) {
    history.replaceState(null, "", location.pathname + location.hash);
  }
  const byId = (/** @type {string} */ id) => /** @type {HTMLElement} */ (document.getElementById(id));
  const told = byId("told");
  let seen = -1;
  let turn = -1;
  /** @type {Record<string, string>} */
  const shown = {};
  /** What is shown when it is let go. @type {Record<string, string>} */
  const waiting = {};

  const tell = (/** @type {string} */ text, isProblem = false) => {
    told.textContent = text;
    told.classList.toggle("problem", isProblem);
  };

  const lost = "The program does not answer: it has ended, or the connection is lost. Started again, it prints a new address.";

  /** Sends a change; the page shows it when the job has it, at once unless it `isTyped` there already. Answers whether it was taken. */
  const post = async (/** @type {string} */ to, /** @type {unknown} */ body, isTyped = false) => {
    let isTaken = false;
    try {
      const sent = body instanceof Blob ? body : body === undefined ? "" : JSON.stringify(body);
      const answer = await fetch(to, { method: "POST", body: sent });
      const text = await answer.text();
      isTaken = answer.ok;
      if (answer.ok && text.startsWith("{")) {
        // The next change may come before the page shows this one.
        seen = Math.max(seen, JSON.parse(text).state);
        tell("");
      } else {
        tell(text, !answer.ok);
      }
    } catch {
      tell(lost, true);
    }
    if (!(isTaken && isTyped)) {
      await refresh();
    }
    return isTaken;
  };
  const change = (/** @type {unknown[]} */ edits, isTyped = false) => post("/-/edit", { seen, edits }, isTyped);

  /** What a field or button is known by, whatever part of the page it is written in again. */
  const keyOf = (/** @type {HTMLElement} */ one) => one.dataset.at ?? one.dataset.name ?? one.dataset.edit ?? one.dataset.post ?? one.id;

  /** Where the reader is, so that a part that is replaced does not throw him out. */
  const place = () => {
    const at = /** @type {HTMLElement | null} */ (document.activeElement);
    const key = at && keyOf(at);
    const text = at instanceof HTMLInputElement && at.type === "text";
    return { key, typed: text && at.value !== at.defaultValue ? at.value : undefined, end: text ? at.selectionStart : null };
  };
  const goBack = (/** @type {ReturnType<typeof place>} */ { key, typed, end }) => {
    if (!key) {
      return;
    }
    const all = /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll("[data-at], [data-name], [data-edit], [data-post], [id]"));
    const again = [...all].find((one) => keyOf(one) === key);
    again?.focus({ preventScroll: true });
    if (again instanceof HTMLInputElement && again.type === "text") {
      if (typed !== undefined) {
        again.value = typed;
      }
      again.setSelectionRange(end, end);
    }
  };

  /** Shows beside a list of keys what the chosen one takes and means. */
  const explain = (/** @type {HTMLSelectElement} */ keys) => {
    const value = keys.form?.elements.namedItem("value");
    const chosen = keys.selectedOptions[0];
    if (keys.name !== "key" || !(value instanceof HTMLInputElement) || !chosen) {
      return;
    }
    value.placeholder = chosen.dataset.example ?? "";
    const words = document.createElement("datalist");
    words.id = `${keys.id}-words`;
    words.append(...(chosen.dataset.words ?? "").split(" ").map((word) => new Option(word)));
    document.getElementById(words.id)?.remove();
    value.after(words);
    value.setAttribute("list", words.id);
    const meaning = keys.form?.querySelector(".meaning");
    if (meaning) {
      meaning.textContent = chosen.title;
    }
  };

  /** Puts `fresh` in the place of `old`; what they have alike stays, since drawing all of a large job anew takes a while. */
  const renew = (/** @type {ChildNode} */ old, /** @type {ChildNode} */ fresh) => {
    if (old.isEqualNode(fresh)) {
      return;
    }
    if (old instanceof Element && fresh instanceof Element && old.cloneNode().isEqualNode(fresh.cloneNode())) {
      // Options that leave their list one by one are chosen there in turn.
      const chosen = fresh instanceof HTMLSelectElement ? fresh.value : undefined;
      renewAll(old, fresh);
      if (old instanceof HTMLSelectElement && chosen !== undefined) {
        old.value = chosen;
        explain(old);
      }
    } else {
      old.replaceWith(fresh);
    }
  };
  const renewAll = (/** @type {ParentNode & Node} */ old, /** @type {ParentNode & Node} */ fresh) => {
    const [before, now] = [[...old.childNodes], [...fresh.childNodes]];
    if (before.length === now.length) {
      before.forEach((one, n) => renew(one, now[n]));
    } else {
      old.replaceChildren(...now);
    }
  };

  const draw = (/** @type {string} */ name, /** @type {string} */ part) => {
    shown[name] = part;
    const fresh = document.createElement("template");
    fresh.innerHTML = part;
    renewAll(byId(name), fresh.content);
  };

  let isAsking = false;
  let isOld = false;
  const refresh = async () => {
    if (isAsking) {
      isOld = true;
      return;
    }
    isAsking = true;
    try {
      do {
        isOld = false;
        const answer = await fetch(turn < 0 ? "/-/parts" : `/-/parts/since/${turn}`);
        if (!answer.ok) {
          break;
        }
        const now = await answer.json();
        if (told.textContent === lost) {
          tell("");
        }
        seen = Math.max(seen, now.state);
        turn = now.turn;
        const before = place();
        const open = [...document.querySelectorAll("details[open]")].map((one) => one.id);
        let isNew = false;
        for (const [name, part] of Object.entries(now.parts)) {
          if (name === document.body.dataset.held) {
            // A piece is in somebody's hand.
            waiting[name] = part;
          } else if (shown[name] !== part) {
            draw(name, part);
            isNew = true;
          }
        }
        if (isNew) {
          for (const id of open) {
            const one = document.getElementById(id);
            if (one instanceof HTMLDetailsElement) {
              one.open = true;
            }
          }
          goBack(before);
        }
      } while (isOld);
    } catch {
      tell(lost, true);
    } finally {
      isAsking = false;
    }
  };

  const steps = (/** @type {string | undefined} */ written) => /** @type {(string | number)[]} */ (JSON.parse(written ?? "[]"));

  /** A name as it may stand on labels and in names of files. */
  const asName = (/** @type {string} */ typed) => typed.trim().replaceAll(/[^A-Za-z0-9_.-]+/g, "-");

  document.addEventListener("change", (event) => {
    const field = event.target;
    if (!(field instanceof HTMLInputElement || field instanceof HTMLSelectElement)) {
      return;
    }
    if (field.dataset.at) {
      const at = steps(field.dataset.at);
      const to = field.value.trim();
      change([to === "" ? { remove: { at } } : { set: { at, to } }], true);
    } else if (field.dataset.name && field.value.trim() !== "") {
      change([{ rename: { at: steps(field.dataset.name), to: asName(field.value) } }]);
    } else if (field instanceof HTMLSelectElement) {
      explain(field);
    }
  });

  document.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (button?.dataset.edit) {
      const edit = JSON.parse(button.dataset.edit);
      change(Array.isArray(edit) ? edit : [edit]);
    } else if (button?.dataset.post) {
      tell("");
      post(button.dataset.post, undefined);
    }
  });

  document.addEventListener("submit", (event) => {
    event.preventDefault();
    const form = /** @type {HTMLFormElement} */ (event.target);
    const value = (/** @type {string} */ name) => {
      const field = form.elements.namedItem(name);
      return field instanceof HTMLInputElement || field instanceof HTMLSelectElement ? field.value.trim() : "";
    };
    if (form.dataset.inside && value("key") && value("value")) {
      change([{ set: { at: [...steps(form.dataset.inside), value("key").replaceAll(" ", "_")], to: value("value") } }]);
    } else if (form.dataset.named && value("name")) {
      // What a cloth cannot be without; the rest is told by the page.
      change([{ set: { at: [...steps(form.dataset.named), asName(value("name")), "weave"], to: "plain" } }]);
    }
  });

  document.addEventListener("keydown", (event) => {
    const isTyping = event.target instanceof HTMLInputElement && event.target.value !== event.target.defaultValue;
    if (!(event.ctrlKey || event.metaKey) || isTyping) {
      return;
    }
    const key = event.key.toLowerCase();
    if (key === "z" || key === "y") {
      event.preventDefault();
      post(key === "y" || event.shiftKey ? "/-/redo" : "/-/undo", undefined);
    }
  });

  // What other scripts of the page send: one thing after the other, so that what is told can be read.
  let sending = Promise.resolve();
  document.addEventListener("job-send", (event) => {
    const { to, body, told: doing } = /** @type {CustomEvent<{ to: string, body: Blob, told: string }>} */ (event).detail;
    sending = sending.then(() => {
      tell(doing);
      return post(to, body).then(() => {});
    });
  });
  document.addEventListener("job-hand", async (event) => {
    if (!(await post("/-/hand", { seen, do: /** @type {CustomEvent<unknown>} */ (event).detail }))) {
      document.dispatchEvent(new CustomEvent("job-refused"));
    }
  });
  document.addEventListener("job-let-go", () => {
    const before = place();
    for (const [name, part] of Object.entries(waiting)) {
      draw(name, part);
      delete waiting[name];
    }
    goBack(before);
  });
  document.addEventListener("job-change", (event) => {
    change(/** @type {CustomEvent<unknown[]>} */ (event).detail);
  });

  /** @type {HTMLElement | null} */
  let dragged = null;
  document.addEventListener("dragstart", (event) => {
    const handle = event.target instanceof Element ? event.target.closest(".handle") : null;
    dragged = /** @type {HTMLElement | null} */ (handle?.closest("li") ?? null);
    dragged?.classList.add("dragged");
    event.dataTransfer?.setData("text/plain", "");
    if (dragged) {
      event.dataTransfer?.setDragImage(dragged, 10, 10);
    }
  });
  const under = (/** @type {DragEvent} */ event) => {
    const li = event.target instanceof Element ? event.target.closest("ol.stack > li") : null;
    return dragged && li && li.parentElement === dragged.parentElement ? /** @type {HTMLElement} */ (li) : null;
  };
  document.addEventListener("dragover", (event) => {
    const li = under(event);
    if (li) {
      event.preventDefault();
    }
    for (const one of document.querySelectorAll("li.over")) {
      one.classList.toggle("over", one === li);
    }
    li?.classList.add("over");
  });
  document.addEventListener("drop", (event) => {
    const li = under(event);
    if (li && dragged) {
      event.preventDefault();
      const list = steps(/** @type {HTMLElement} */ (li.parentElement).dataset.list);
      change([{ move: { at: [...list, Number(dragged.dataset.index)], to: Number(li.dataset.index) } }]);
    }
  });
  document.addEventListener("dragend", () => {
    for (const one of document.querySelectorAll("li.over, li.dragged")) {
      one.classList.remove("over", "dragged");
    }
    dragged = null;
  });

  const patience = 3000;
  // While the job is read, its new figures are about to come: the page is drawn once for both.
  const aboutToCome = 80;
  const listen = () => {
    const events = new EventSource("/-/events");
    /** @type {number | undefined} */
    let alone;
    /** @type {number | undefined} */
    let due;
    events.onmessage = (event) => {
      clearTimeout(alone);
      clearTimeout(due);
      alone = undefined;
      const now = JSON.parse(event.data);
      const standing = document.querySelector(".standing");
      if (now.turn !== turn || told.textContent === lost) {
        due = setTimeout(refresh, now.isReading ? aboutToCome : 0);
      } else if (standing) {
        standing.textContent = now.standing;
      }
    };
    events.onerror = () => {
      alone ??= setTimeout(() => tell(lost, true), patience);
      if (events.readyState === EventSource.CLOSED) {
        setTimeout(listen, patience);
      }
    };
  };
  listen();
})();
