// Laying by hand: pieces of a roll are taken hold of with the pointer or the arrow keys, slide along their neighbours and
// stay where they are put. What was done goes to the page's own script, which knows the state of the job.
import { Moved, Still, turned } from "./contact.js";

/** @typedef {import("./contact.js").At} At */
/** @typedef {import("./contact.js").Rings} Rings */
/** @typedef {[number, boolean]} Turn how far it is turned, and whether it is turned over */
/** @typedef {{ id: string, turn: Turn, turns: Turn[], rings: number[][] }} Piece */
/** @typedef {{ roll: string, gap: number, margin: number, within: number[], cloth: number[][] | null, flaws: { clear: number, rings: number[][] }[], pieces: Piece[] }} Roll */
/** @typedef {{ group: SVGGElement, svg: SVGSVGElement, roll: Roll, piece: Piece, moved: Moved, rings: Rings, turn: Turn,
 *   at: At, free: At, isFree: boolean, from: At | null, start: At }} Held */

/** A piece this near to a neighbour is drawn to it, in pixels. */
const SNAP = 7;
/** It is shown over its neighbours once the pointer is this far ahead of it, in pixels. */
const AHEAD = 60;
/** So many frames are remembered. */
const MOST_FRAMES = 1000;
/** Side of a field of the grid of what lies still, mm. */
const CELL = 60;

/** @type {Held | null} */
let held = null;
/** A flaw that is being drawn. @type {{ svg: SVGSVGElement, from: DOMPoint } | null} */
let stroke = null;
/** Frames that were drawn while a piece was moved, and how long each took, ms: what is measured from outside. @type {number[]} */
const frames = [];
Object.assign(window, { handFrames: frames });

const send = (/** @type {unknown} */ detail) => document.dispatchEvent(new CustomEvent("job-hand", { detail }));
const flat = (/** @type {number[][]} */ rings) => rings.map((ring) => new Float64Array(ring));
const round = (/** @type {number} */ value) => Math.round(value * 100) / 100;

/** Rolls as the server tells them, for as long as they are drawn so. @type {{ drawn: string, rolls: Promise<Roll[]> } | null} */
let known = null;
/** @type {Map<string, Still>} */
const stills = new Map();
const rollsNow = () => {
  const drawn = document.getElementById("rolls")?.innerHTML.length.toString() + (document.querySelector("#rolls .piece path")?.getAttribute("d") ?? "");
  if (known?.drawn !== drawn) {
    stills.clear();
    const rolls = fetch("/-/hand").then(async (answer) => /** @type {Roll[]} */ ((await answer.json()).rolls));
    known = { drawn, rolls };
    rolls.catch(() => (known = null));
  }
  return known.rolls;
};

/** All that lies on a roll; its pieces first, in their order. @param {Roll} roll */
const stillOn = (roll) => {
  let still = stills.get(roll.roll);
  if (!still) {
    const [x0, y0, x1, y1] = roll.within;
    still = new Still({ x0, y0, x1, y1 }, CELL);
    for (const piece of roll.pieces) {
      still.add(flat(piece.rings), roll.gap);
    }
    for (const flaw of roll.flaws) {
      still.add(flat(flaw.rings), flaw.clear);
    }
    if (roll.cloth) {
      still.add(flat(roll.cloth), roll.margin, true);
    }
    stills.set(roll.roll, still);
  }
  return still;
};

const pixelsOf = (/** @type {SVGSVGElement} */ svg) => svg.getScreenCTM()?.a ?? 1;
const figureOf = (/** @type {Element} */ one) => /** @type {HTMLElement} */ (one.closest("figure.roll"));

/** Takes hold of a piece. @param {SVGGElement} group @returns {Promise<Held | null>} */
const take = async (group) => {
  const svg = /** @type {SVGSVGElement} */ (group.ownerSVGElement);
  document.body.dataset.held = "rolls";
  const rolls = await rollsNow();
  const roll = rolls.find((one) => one.roll === figureOf(group).dataset.roll);
  const piece = roll?.pieces.find((one) => one.id === group.dataset.piece);
  if (!roll || !piece || !group.isConnected) {
    delete document.body.dataset.held;
    return null;
  }
  const still = stillOn(roll);
  const rings = flat(piece.rings);
  const zero = { x: 0, y: 0 };
  const moved = new Moved(still, roll.pieces.indexOf(piece), rings);
  return { group, svg, roll, piece, moved, rings, turn: piece.turn, at: zero, free: zero, isFree: true, from: null, start: zero };
};

/** Draws the piece in hand where it is. */
const draw = () => {
  if (!held) {
    return;
  }
  const { group, svg, moved, at, isFree } = held;
  // Above the others; moved itself it would lose the focus.
  while (group.nextElementSibling?.matches("g.piece")) {
    group.before(group.nextElementSibling);
  }
  group.setAttribute("transform", `translate(${at.x} ${-at.y})`);
  group.classList.add("held");
  group.classList.toggle("over", !isFree);
  for (const hit of svg.querySelectorAll(".hit")) {
    hit.classList.remove("hit");
  }
  const { pieces } = held.roll;
  const hits = isFree ? [] : [...moved.hits(at)];
  for (const { id } of hits.filter((which) => which < pieces.length).map((which) => pieces[which])) {
    svg.querySelector(`g.piece[data-piece="${CSS.escape(id)}"]`)?.classList.add("hit");
  }
};

/** Moves the piece in hand as near to a place as it may lie. @param {At} to @param {boolean} isDragged */
const moveTo = (to, isDragged) => {
  if (!held) {
    return;
  }
  const { moved, svg, free } = held;
  const pixels = pixelsOf(svg);
  let at = moved.isFree(to) ? to : moved.slid(free, to);
  const isBehind = Math.hypot(to.x - at.x, to.y - at.y) * pixels > AHEAD;
  held.isFree = !(isDragged && isBehind) && moved.isFree(at);
  if (held.isFree) {
    at = isDragged ? moved.snapped(at, SNAP / pixels) : at;
    held.free = at;
  }
  held.at = held.isFree ? at : to;
  draw();
};

/** Draws a piece where it lay. @param {SVGGElement} group */
const putBack = (group) => {
  group.removeAttribute("transform");
  group.classList.remove("held", "over", "put");
  const { before } = group.dataset;
  if (before) {
    drawAll(group, before);
  }
};
/** What shows the outline of a piece shows this. @param {SVGGElement} group @param {string} d */
const drawAll = (group, d) => {
  for (const outline of group.querySelectorAll("path")) {
    outline.setAttribute("d", d);
  }
};
// The job did not take it.
document.addEventListener("job-refused", () => {
  for (const group of /** @type {NodeListOf<SVGGElement>} */ (document.querySelectorAll("#rolls g.piece.put"))) {
    putBack(group);
  }
});

/** Puts the piece in hand back where it lay. */
const giveBack = () => {
  if (held) {
    putBack(held.group);
    for (const hit of held.svg.querySelectorAll(".hit")) {
      hit.classList.remove("hit");
    }
    held = null;
  }
  delete document.body.dataset.held;
  document.dispatchEvent(new CustomEvent("job-let-go"));
};

/** Pins the piece in hand where it lies. */
const pin = () => {
  if (!held) {
    return;
  }
  if (!held.isFree) {
    tell(`${held.piece.id} would lie over its neighbours: it stays where it was.`);
    giveBack();
    return;
  }
  const { piece, moved, at, turn } = held;
  const box = moved.boxAt(at);
  const put = { piece: piece.id, along: round(box.x0), across: round(box.y0), turn: turn[0], turned_over: turn[1] };
  // It stays where it is drawn until the new layout comes.
  held.group.classList.remove("held");
  held.group.classList.add("put");
  held = null;
  delete document.body.dataset.held;
  send({ put });
};

const tell = (/** @type {string} */ text) => {
  const told = /** @type {HTMLElement} */ (document.getElementById("told"));
  told.textContent = text;
  told.classList.add("problem");
};

/** Turns the piece in hand to another of the turns that its cloth permits. @param {Turn} to */
const turnTo = (to) => {
  if (!held) {
    return;
  }
  const { group, moved, piece, roll } = held;
  const box = moved.boxAt(held.at);
  const rings = turned(flat(piece.rings), piece.turn, to);
  held.moved = new Moved(stillOn(roll), moved.own, rings);
  held.turn = to;
  const own = held.moved.box;
  // About its own middle.
  const at = { x: (box.x0 + box.x1 - own.x0 - own.x1) / 2, y: (box.y0 + box.y1 - own.y0 - own.y1) / 2 };
  const outline = /** @type {SVGPathElement} */ (group.querySelector("path"));
  group.dataset.before ??= outline.getAttribute("d") ?? "";
  const line = (/** @type {Float64Array} */ ring) => `M${Array.from(ring, (v, i) => (i % 2 ? -v : v)).join(" ")}Z`;
  drawAll(group, rings.map(line).join(""));
  held.at = at;
  held.isFree = held.moved.isFree(at);
  held.free = at;
  draw();
};

const nextTurn = () => {
  if (!held) {
    return;
  }
  const { turns } = held.piece;
  const { turn } = held;
  const now = turns.findIndex(([angle, over]) => over === turn[1] && Math.abs(angle - turn[0]) < 0.01);
  turnTo(turns[(now + 1) % turns.length]);
  choose(held.group);
};

const pinned = () => /** @type {string[]} */ (JSON.parse(/** @type {HTMLElement | null} */ (document.querySelector("[data-pinned]"))?.dataset.pinned ?? "[]"));

/** Shows what can be done with a piece, under its roll. @param {SVGGElement} group */
const choose = async (group) => {
  const figure = figureOf(group);
  const rolls = await rollsNow();
  const piece = rolls.flatMap((roll) => roll.pieces).find((one) => one.id === group.dataset.piece);
  const panel = /** @type {HTMLElement | null} */ (figure.querySelector(".chosen"));
  if (!piece || !panel) {
    return;
  }
  for (const one of figure.querySelectorAll(".piece.chosen-piece")) {
    one.classList.remove("chosen-piece");
  }
  group.classList.add("chosen-piece");
  const own = held?.group === group ? held : null;
  const box = own ? own.moved.boxAt(own.at) : new Moved(new Still({ x0: 0, y0: 0, x1: 0, y1: 0 }, CELL), -1, flat(piece.rings)).box;
  const turn = own?.turn ?? piece.turn;
  panel.hidden = false;
  panel.dataset.piece = piece.id;
  panel.replaceChildren();
  const add = (/** @type {string} */ kind, /** @type {Record<string, string>} */ keys, text = "") => {
    const one = document.createElement(kind);
    Object.entries(keys).forEach(([key, value]) => one.setAttribute(key, value));
    one.textContent = text;
    panel.append(one);
    return one;
  };
  add("strong", {}, piece.id);
  const number = (/** @type {string} */ name, /** @type {string} */ label, /** @type {number} */ value) => {
    const outer = add("label", {}, `${label} `);
    const input = document.createElement("input");
    Object.assign(input, { type: "number", name, step: "0.01", min: "0", value: `${round(value)}`, className: "short" });
    outer.append(input, " mm");
  };
  number("along", "along", box.x0);
  number("across", "across", box.y0);
  if (piece.turns.length > 1) {
    const outer = add("label", {}, "turned ");
    const select = document.createElement("select");
    select.name = "turn";
    piece.turns.forEach(([angle, over], i) => {
      const isNow = over === turn[1] && Math.abs(angle - turn[0]) < 0.01;
      select.add(new Option(`${round(angle)}°${over ? ", face down" : ""}`, `${i}`, isNow, isNow));
    });
    outer.append(select);
  }
  add("button", { type: "button", "data-hand": "pin" }, pinned().includes(piece.id) ? "Pin it there" : "Pin it");
  if (pinned().includes(piece.id)) {
    add("button", { type: "button", "data-hand": "let-go" }, "Let it go");
  }
  add("button", { type: "button", "data-hand": "again", title: "It was lost to a bad cut: the others stay where they lie" }, "Spoilt: cut it again");
};

const markPinned = () => {
  const all = new Set(pinned());
  for (const group of /** @type {NodeListOf<SVGGElement>} */ (document.querySelectorAll("#rolls g.piece"))) {
    group.classList.toggle("pinned", all.has(group.dataset.piece ?? ""));
  }
};
markPinned();
for (const id of ["rolls", "pins"]) {
  new MutationObserver(markPinned).observe(/** @type {HTMLElement} */ (document.getElementById(id)), { childList: true, subtree: true });
}

const pieceAt = (/** @type {EventTarget | null} */ target) =>
  /** @type {SVGGElement | null} */ (target instanceof Element ? target.closest("#rolls g.piece") : null);

/** Where the pointer is on the roll, in its millimetres, y down. */
const placeOf = (/** @type {SVGSVGElement} */ svg, /** @type {PointerEvent} */ event) =>
  new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM()?.inverse());

// What is near is asked for before it is wanted.
document.addEventListener("pointerover", (event) => {
  if (event.target instanceof Element && event.target.closest("figure.roll")) {
    rollsNow();
  }
});

let grip = 0;
document.addEventListener("pointerdown", async (event) => {
  const svg = event.target instanceof Element ? event.target.closest("figure.roll svg") : null;
  if (!(svg instanceof SVGSVGElement) || event.button !== 0) {
    return;
  }
  if (figureOf(svg).querySelector('[data-hand="flaw"][aria-pressed="true"]')) {
    event.preventDefault();
    stroke = { svg, from: placeOf(svg, event) };
    return;
  }
  const group = pieceAt(event.target);
  if (!group) {
    return;
  }
  event.preventDefault();
  const own = ++grip;
  if (held && held.group !== group) {
    giveBack();
  }
  group.focus({ preventScroll: true });
  const place = placeOf(svg, event);
  const taken = held ?? (await take(group));
  if (!taken || own !== grip) {
    return;
  }
  held = taken;
  held.from = { x: place.x, y: place.y };
  held.start = held.at;
  choose(group);
});

/** The last place of the pointer that is not drawn yet. @type {PointerEvent | null} */
let next = null;
document.addEventListener("pointermove", (event) => {
  if (stroke) {
    showStroke(stroke.svg, stroke.from, placeOf(stroke.svg, event));
    return;
  }
  if (!held?.from) {
    return;
  }
  event.preventDefault();
  if (!next) {
    requestAnimationFrame(follow);
  }
  next = event;
});
const follow = () => {
  const event = next;
  next = null;
  if (!event || !held?.from) {
    return;
  }
  const began = performance.now();
  const place = placeOf(held.svg, event);
  moveTo({ x: held.start.x + place.x - held.from.x, y: held.start.y - (place.y - held.from.y) }, true);
  frames.push(performance.now() - began);
  if (frames.length > MOST_FRAMES) {
    frames.shift();
  }
};

document.addEventListener("pointerup", (event) => {
  grip++;
  if (stroke) {
    const { svg, from } = stroke;
    endStroke(svg, from, placeOf(svg, event));
    return;
  }
  if (!held?.from) {
    if (!held) {
      giveBack();
    }
    return;
  }
  if (next) {
    follow();
  }
  const { start, at } = held;
  held.from = null;
  if (at.x !== start.x || at.y !== start.y) {
    pin();
  } else if (start.x === 0 && start.y === 0 && held.turn === held.piece.turn) {
    giveBack();
  }
});
document.addEventListener("pointercancel", () => {
  grip++;
  stroke = null;
  giveBack();
});

const ways = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] });
document.addEventListener("keydown", async (event) => {
  const group = pieceAt(event.target);
  const way = ways[event.key];
  const isTurn = event.key === "r" || event.key === "R";
  if (!group || event.ctrlKey || event.metaKey || !(way || isTurn || ["Enter", "Escape", " "].includes(event.key))) {
    return;
  }
  event.preventDefault();
  if (event.key === "Escape") {
    giveBack();
    return;
  }
  if (held && held.group !== group) {
    giveBack();
  }
  held ??= await take(group);
  if (!held) {
    return;
  }
  if (way) {
    const step = event.shiftKey ? 10 : 1;
    const { at } = held;
    moveTo({ x: at.x + way[0] * step, y: at.y + way[1] * step }, false);
    await choose(group);
  } else if (isTurn) {
    nextTurn();
  } else {
    pin();
  }
});
document.addEventListener("focusin", (event) => {
  const group = pieceAt(event.target);
  if (group && !held) {
    choose(group);
  }
});

document.addEventListener("change", async (event) => {
  const field = event.target;
  const panel = field instanceof Element ? /** @type {HTMLElement | null} */ (field.closest(".chosen")) : null;
  if (!panel || !(field instanceof HTMLInputElement || field instanceof HTMLSelectElement)) {
    return;
  }
  const group = groupOf(panel);
  if (held && held.group !== group) {
    giveBack();
  }
  held ??= group && (await take(group));
  if (!held) {
    return;
  }
  if (field.name === "turn") {
    turnTo(held.piece.turns[Number(field.value)]);
    return;
  }
  const number = (/** @type {string} */ name) => Number(/** @type {HTMLInputElement} */ (panel.querySelector(`[name="${name}"]`)).value);
  const { box } = held.moved;
  const at = { x: number("along") - box.x0, y: number("across") - box.y0 };
  held.at = at;
  held.isFree = held.moved.isFree(at);
  held.free = held.isFree ? at : held.free;
  draw();
});
const groupOf = (/** @type {HTMLElement} */ panel) =>
  /** @type {SVGGElement | null} */ (figureOf(panel).querySelector(`g.piece[data-piece="${CSS.escape(panel.dataset.piece ?? "")}"]`));

document.addEventListener("click", async (event) => {
  const button = event.target instanceof Element ? /** @type {HTMLElement | null} */ (event.target.closest("[data-hand]")) : null;
  if (!button) {
    return;
  }
  const figure = figureOf(button);
  const panel = /** @type {HTMLElement | null} */ (button.closest(".chosen"));
  const piece = panel?.dataset.piece ?? "";
  switch (button.dataset.hand) {
    case "pin-all":
      send({ "pin-all": { roll: figure.dataset.roll } });
      break;
    case "flaw":
      giveBack();
      button.setAttribute("aria-pressed", `${button.getAttribute("aria-pressed") !== "true"}`);
      if (button.getAttribute("aria-pressed") === "true") {
        document.body.dataset.held = "rolls";
      }
      break;
    case "let-go":
      send({ "let-go": { piece } });
      break;
    case "again":
      giveBack();
      send({ again: { pieces: [piece] } });
      break;
    case "pin": {
      const group = panel && groupOf(panel);
      held ??= group && (await take(group));
      pin();
      break;
    }
  }
});

const showStroke = (/** @type {SVGSVGElement} */ svg, /** @type {DOMPoint} */ from, /** @type {DOMPoint} */ to) => {
  const shape = /** @type {SVGElement} */ (svg.querySelector("rect.drawn"));
  const values = { x: Math.min(from.x, to.x), y: Math.min(from.y, to.y), width: Math.abs(to.x - from.x), height: Math.abs(to.y - from.y) };
  Object.entries(values).forEach(([key, value]) => shape.setAttribute(key, `${value}`));
  shape.classList.add("shown");
};
const endStroke = (/** @type {SVGSVGElement} */ svg, /** @type {DOMPoint} */ from, /** @type {DOMPoint} */ to) => {
  stroke = null;
  svg.querySelector("rect.drawn")?.classList.remove("shown");
  const figure = figureOf(svg);
  figure.querySelector('[data-hand="flaw"]')?.setAttribute("aria-pressed", "false");
  const { width: long, height: broad } = svg.viewBox.baseVal;
  const inside = (/** @type {number} */ v, /** @type {number} */ most) => Math.max(0, Math.min(most, Math.round(v)));
  const [x0, x1] = [inside(Math.min(from.x, to.x), long), inside(Math.max(from.x, to.x), long)];
  const [y0, y1] = [inside(Math.min(-from.y, -to.y), broad), inside(Math.max(-from.y, -to.y), broad)];
  if (x1 > x0 && y1 > y0) {
    send({ flaw: { roll: figure.dataset.roll, from: x0, length: x1 - x0, across: y0, width: y1 - y0 } });
  }
  giveBack();
};
document.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  const roll = form.dataset.flaw;
  if (roll) {
    const number = (/** @type {string} */ name) => Number(/** @type {HTMLInputElement} */ (form.elements.namedItem(name)).value);
    send({ flaw: { roll, from: number("from"), length: number("length"), across: number("across"), width: number("width") } });
  }
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    stroke = null;
    giveBack();
    document.querySelector("figure.roll .drawn.shown")?.classList.remove("shown");
    document.querySelector("figure.roll [aria-pressed=true]")?.setAttribute("aria-pressed", "false");
  }
});
