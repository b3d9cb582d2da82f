"use strict";
// The report works without this: it only makes pieces, rows and rolls answer to a pointer, a finger
// and the keyboard.
(() => {
  const make = (tag, cls, text) => {
    const element = document.createElement(tag);
    if (cls) element.className = cls;
    if (text !== undefined) element.textContent = text;
    return element;
  };
  const shapes = [...document.querySelectorAll("g[data-piece]")];
  const rows = [...document.querySelectorAll("tr[data-piece]")];
  // A roll drawn in several rows shows a piece that lies across their border in both.
  const shapesOf = new Map();
  for (const shape of shapes) {
    const id = shape.dataset.piece;
    shapesOf.set(id, [...(shapesOf.get(id) ?? []), shape]);
  }
  const rowOf = new Map(rows.map((row) => [row.dataset.piece, row]));

  // ---- One piece at a time is lit, in the drawing and in the table. A click keeps it lit. ----
  const card = make("aside", "card");
  card.setAttribute("role", "status");
  card.hidden = true;
  document.body.append(card);
  let lit = null;
  let kept = null;

  const show = (id) => {
    if (id === lit) return;
    const elements = (piece) => [...(shapesOf.get(piece) ?? []), rowOf.get(piece)];
    for (const element of elements(lit)) element?.classList.remove("lit");
    for (const element of elements(id)) element?.classList.add("lit");
    lit = id;
    card.hidden = id === null;
    if (id === null) return;
    card.replaceChildren(make("strong", "", id));
    const row = rowOf.get(id);
    // What is cut for the bag has no row.
    if (!row) return;
    const heads = [...row.closest("table").querySelectorAll("thead th")];
    const list = make("dl");
    [...row.cells].forEach((cell, k) => {
      const text = cell.textContent.trim();
      if (k !== 1 && text) list.append(make("dt", "", heads[k].textContent), make("dd", "", text));
    });
    card.append(list);
  };
  const keep = (id) => {
    kept = kept === id ? null : id;
    show(kept);
  };
  const reveal = (element) => element?.scrollIntoView({ block: "nearest", inline: "nearest" });

  for (const shape of shapes) {
    const id = shape.dataset.piece;
    shape.setAttribute("role", "button");
    // What is written on a piece is part of its name, for those who speak to the screen.
    const written = [...shape.querySelectorAll("text")].map((text) => text.textContent.trim()).join(" ");
    const name = written.startsWith(id) ? written : `${id} ${written}`;
    shape.setAttribute("aria-label", `Piece ${name}`.trim());
    // The card says more.
    shape.querySelector("title")?.remove();
    shape.setAttribute("tabindex", "-1");
    shape.addEventListener("pointerenter", (e) => e.pointerType === "mouse" && show(id));
    shape.addEventListener("pointerleave", (e) => e.pointerType === "mouse" && show(kept));
    shape.addEventListener("focus", () => show(id));
    shape.addEventListener("blur", () => show(kept));
    shape.addEventListener("click", () => keep(id));
  }
  for (const row of rows) {
    const id = row.dataset.piece;
    const button = make("button", "find", id);
    button.type = "button";
    button.title = "Show it on the roll";
    row.querySelector("th").replaceChildren(button);
    row.addEventListener("pointerenter", (e) => e.pointerType === "mouse" && show(id));
    row.addEventListener("pointerleave", (e) => e.pointerType === "mouse" && show(kept));
    button.addEventListener("focus", () => show(id));
    button.addEventListener("blur", () => show(kept));
    button.addEventListener("click", () => {
      kept = id;
      show(id);
      reveal(shapesOf.get(id)?.[0].closest(".scroll"));
    });
  }
  document.addEventListener("keydown", (e) => {
    if (e.key === "Escape") {
      kept = null;
      show(null);
    }
  });

  // ---- Rolls: larger, smaller, moved about; arrows go from piece to piece. ----
  for (const svg of document.querySelectorAll("svg.roll")) {
    const whole = svg.getAttribute("viewBox").split(/[\s,]+/).map(Number);
    let view = [...whole];
    const box = svg.closest(".scroll");
    const set = (x, y, w) => {
      const ratio = whole[3] / whole[2];
      const wide = Math.min(whole[2], Math.max(whole[2] / 40, w));
      const high = wide * ratio;
      view = [
        Math.min(whole[0] + whole[2] - wide, Math.max(whole[0], x)),
        Math.min(whole[1] + whole[3] - high, Math.max(whole[1], y)),
        wide,
        high,
      ];
      if (wide === whole[2]) view = [...whole];
      svg.setAttribute("viewBox", view.join(" "));
      box.classList.toggle("near", wide < whole[2]);
    };
    const zoom = (factor, at) => {
      const [x, y, w, h] = view;
      const [px, py] = at ?? [x + w / 2, y + h / 2];
      const next = Math.min(whole[2], Math.max(whole[2] / 40, w / factor));
      const share = next / w;
      set(px - (px - x) * share, py - (py - y) * share, next);
    };
    const place = (e) => {
      const r = svg.getBoundingClientRect();
      return [
        view[0] + ((e.clientX - r.left) / r.width) * view[2],
        view[1] + ((e.clientY - r.top) / r.height) * view[3],
      ];
    };
    const tools = make("div", "tools");
    const name = svg.dataset.roll;
    for (const [text, says, act] of [
      ["+", "Larger", () => zoom(1.5)],
      ["−", "Smaller", () => zoom(1 / 1.5)],
      ["All", "All of the roll", () => set(whole[0], whole[1], whole[2])],
    ]) {
      const button = make("button", "", text);
      button.type = "button";
      button.setAttribute("aria-label", `${says}: ${name}`);
      button.title = says;
      button.addEventListener("click", act);
      tools.append(button);
    }
    box.before(tools);
    svg.addEventListener(
      "wheel",
      (e) => {
        // The wheel alone scrolls the page; with Ctrl, and a pinch on a touchpad, it zooms.
        if (!e.ctrlKey) return;
        e.preventDefault();
        zoom(e.deltaY < 0 ? 1.2 : 1 / 1.2, place(e));
      },
      { passive: false },
    );
    const down = new Map();
    let moved = 0;
    svg.addEventListener("pointerdown", (e) => {
      down.set(e.pointerId, [e.clientX, e.clientY]);
      moved = 0;
    });
    svg.addEventListener("pointermove", (e) => {
      const from = down.get(e.pointerId);
      if (!from) return;
      const r = svg.getBoundingClientRect();
      const [dx, dy] = [e.clientX - from[0], e.clientY - from[1]];
      const others = [...down].filter(([id]) => id !== e.pointerId);
      if (others.length === 1) {
        const [, [ox, oy]] = others[0];
        const span = (x, y) => Math.hypot(x - ox, y - oy) || 1;
        zoom(span(e.clientX, e.clientY) / span(from[0], from[1]), place({ clientX: ox, clientY: oy }));
      } else if (view[2] < whole[2]) {
        set(view[0] - (dx / r.width) * view[2], view[1] - (dy / r.height) * view[3], view[2]);
      }
      moved += Math.abs(dx) + Math.abs(dy);
      if (moved > 6 && !svg.hasPointerCapture(e.pointerId)) svg.setPointerCapture(e.pointerId);
      down.set(e.pointerId, [e.clientX, e.clientY]);
    });
    for (const end of ["pointerup", "pointercancel"]) {
      svg.addEventListener(end, (e) => down.delete(e.pointerId));
    }
    // The end of a drag is no click.
    svg.addEventListener("click", (e) => moved > 6 && e.stopPropagation(), true);

    const own = [...svg.querySelectorAll("g[data-piece]")];
    svg.setAttribute("role", "group");
    own[0]?.setAttribute("tabindex", "0");
    svg.addEventListener("keydown", (e) => {
      const at = own.indexOf(e.target);
      const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[e.key];
      if (at < 0) return;
      if (step) {
        e.preventDefault();
        const next = own[(at + step + own.length) % own.length];
        own[at].setAttribute("tabindex", "-1");
        next.setAttribute("tabindex", "0");
        next.focus();
      } else if (e.key === "Enter" || e.key === " ") {
        e.preventDefault();
        rowOf.get(e.target.dataset.piece)?.querySelector("button").focus();
      } else if (e.key === "+" || e.key === "-") {
        zoom(e.key === "+" ? 1.5 : 1 / 1.5);
      }
    });
  }

  // ---- Which pieces to show. ----
  const title = document.getElementById("rolls-title");
  if (!title || rows.length < 2) return;
  const bar = make("form", "filter");
  bar.setAttribute("aria-label", "Which pieces to show");
  const told = make("output");
  const chosen = {};
  const apply = () => {
    let n = 0;
    for (const row of rows) {
      const fits = Object.entries(chosen).every(([key, s]) => !s.value || row.dataset[key] === s.value);
      row.hidden = !fits;
      for (const s of shapesOf.get(row.dataset.piece) ?? []) s.classList.toggle("dim", !fits);
      n += fits;
    }
    told.textContent = n < rows.length ? `${n} of ${rows.length} pieces` : "";
  };
  for (const [key, label] of [["part", "Part"], ["cloth", "Cloth"], ["ply", "Ply"]]) {
    const values = [...new Set(rows.map((row) => row.dataset[key]))];
    if (values.length < 2) continue;
    if (key === "ply") values.sort((a, b) => a - b);
    const select = make("select");
    select.append(new Option("all", ""), ...values.map((value) => new Option(value, value)));
    select.addEventListener("change", apply);
    chosen[key] = select;
    const field = make("label", "", `${label} `);
    field.append(select);
    bar.append(field);
  }
  if (!Object.keys(chosen).length) return;
  bar.append(told);
  bar.addEventListener("submit", (e) => e.preventDefault());
  title.parentElement.querySelector(".lead").after(bar);
})();
