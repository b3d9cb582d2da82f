// The drawing of a part: outlines to click on, and its 0° and boxes without joints drawn with the pointer. What is drawn
// goes to the page's own script as a change of the job file.
(() => {
  /** A stroke that is being drawn. @type {{ svg: SVGSVGElement, kind: string, from: DOMPoint } | null} */
  let stroke = null;

  const pressed = (/** @type {Element | null} */ figure) =>
    /** @type {HTMLElement | null} */ (figure?.querySelector('[data-draw][aria-pressed="true"]') ?? null);

  const release = () => {
    for (const button of document.querySelectorAll('[data-draw][aria-pressed="true"]')) {
      button.setAttribute("aria-pressed", "false");
    }
    for (const shape of document.querySelectorAll(".drawing .drawn")) {
      shape.classList.remove("shown");
    }
    stroke = null;
    if (document.body.dataset.held === "job") {
      delete document.body.dataset.held;
      document.dispatchEvent(new CustomEvent("job-let-go"));
    }
  };

  /** Where the pointer is, in the drawing's millimetres, y down. */
  const at = (/** @type {SVGSVGElement} */ svg, /** @type {PointerEvent} */ event) =>
    new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM()?.inverse());

  const steps = (/** @type {string | undefined} */ written) => JSON.parse(written ?? "[]");
  const mm = (/** @type {number} */ value) => `${Math.round(value)} mm`;

  /** Edges turn this much at a corner, degrees. */
  const CORNER = 25;
  /** A dart is this broad at the edge, as a share of its depth, until its points are typed. */
  const BREADTH = 0.25;

  /** The rings of an outline as they are drawn. @param {Element} path @returns {DOMPoint[][]} */
  const rings = (path) =>
    (path.getAttribute("d") ?? "").split("M").slice(1).map((ring) => {
      /** @type {DOMPoint[]} */
      const points = [];
      for (const [, command, x, y] of ring.matchAll(/([LHVlhv]?)\s*(-?[\d.]+)(?:[ ,]\s*|(?=-))?(-?[\d.]+)?/g)) {
        const last = points.at(-1) ?? new DOMPoint();
        const [a, b] = [Number(x), Number(y)];
        const next = { H: [a, last.y], V: [last.x, a], h: [last.x + a, last.y], v: [last.x, last.y + a], l: [last.x + a, last.y + b] }[command] ?? [a, b];
        points.push(new DOMPoint(...next));
      }
      return points;
    });

  /** The place on an edge that is nearest to `to`: its ring, the edge's place in it, and where on it.
   * @param {SVGSVGElement} svg @param {DOMPoint} to */
  const nearest = (svg, to) => {
    let best = { d: Infinity, ring: /** @type {DOMPoint[]} */ ([]), edge: 0, at: to };
    for (const path of svg.querySelectorAll("path[data-outline]")) {
      for (const ring of rings(path)) {
        ring.forEach((a, edge) => {
          const b = ring[(edge + 1) % ring.length];
          const [ux, uy] = [b.x - a.x, b.y - a.y];
          const t = Math.max(0, Math.min(1, ((to.x - a.x) * ux + (to.y - a.y) * uy) / (ux * ux + uy * uy || 1)));
          const at = new DOMPoint(a.x + t * ux, a.y + t * uy);
          const d = Math.hypot(to.x - at.x, to.y - at.y);
          if (d < best.d) {
            best = { d, ring, edge, at };
          }
        });
      }
    }
    return best;
  };

  /** The edge from corner to corner that a chord of an outline belongs to. @param {DOMPoint[]} ring @param {number} edge */
  const wholeEdge = (ring, edge) => {
    const n = ring.length;
    const isCorner = (/** @type {number} */ i) => {
      const [a, b, c] = [ring[(i + n - 1) % n], ring[i % n], ring[(i + 1) % n]];
      const turn = Math.atan2(c.y - b.y, c.x - b.x) - Math.atan2(b.y - a.y, b.x - a.x);
      const degrees = Math.abs((turn * 180) / Math.PI) % 360;
      return Math.min(degrees, 360 - degrees) > CORNER;
    };
    let [from, to] = [edge, edge + 1];
    while (to - from < n && !isCorner((from + n) % n)) {
      from--;
    }
    while (to - from < n && !isCorner(to % n)) {
      to++;
    }
    return Array.from({ length: to - from + 1 }, (_, i) => ring[(from + i + n) % n]);
  };

  /** The changes that a mark stands for. @param {SVGSVGElement} svg @param {string} kind @param {DOMPoint} from @param {DOMPoint} to */
  const marked = (svg, kind, from, to) => {
    const view = svg.viewBox.baseVal;
    const { d, ring, edge, at } = nearest(svg, from);
    if (d > 0.05 * Math.max(view.width, view.height)) {
      return [];
    }
    const written = (/** @type {DOMPoint[]} */ points) => `[${points.map((p) => `["${round(p.x)} mm", "${round(-p.y)} mm"]`).join(", ")}]`;
    const add = (/** @type {DOMPoint[]} */ points) => ({ add: { at: steps(svg.dataset.marks), keys: [["is", kind], ["points", written(points)]] } });
    if (kind === "notch") {
      return [add([at])];
    }
    if (kind === "overlap") {
      const first = svg.dataset.overlap ? [{ set: { at: steps(svg.dataset.overlap), to: "25 mm" } }] : [];
      return [...first, add(wholeEdge(ring, edge))];
    }
    const depth = Math.hypot(to.x - at.x, to.y - at.y);
    if (depth < 0.02 * Math.max(view.width, view.height)) {
      return [];
    }
    const [a, b] = [ring[edge], ring[(edge + 1) % ring.length]];
    const length = Math.hypot(b.x - a.x, b.y - a.y);
    const [ux, uy] = [(b.x - a.x) / length, (b.y - a.y) / length];
    const half = (BREADTH * depth) / 2;
    return [add([new DOMPoint(at.x - half * ux, at.y - half * uy), to, new DOMPoint(at.x + half * ux, at.y + half * uy)])];
  };
  const round = (/** @type {number} */ value) => Math.round(value * 100) / 100;

  /** The changes that a stroke stands for; none for one that is only a click. */
  const changes = (/** @type {SVGSVGElement} */ svg, /** @type {string} */ kind, /** @type {DOMPoint} */ from, /** @type {DOMPoint} */ to) => {
    const view = svg.viewBox.baseVal;
    const least = 0.02 * Math.max(view.width, view.height);
    if (kind === "overlap" || kind === "notch" || kind === "dart") {
      return marked(svg, kind, from, to);
    }
    if (kind === "zero") {
      if (Math.hypot(to.x - from.x, to.y - from.y) < least) {
        return [];
      }
      const degrees = Math.round((Math.atan2(from.y - to.y, to.x - from.x) * 180) / Math.PI);
      const others = steps(svg.dataset.inPlaceOf).map((/** @type {unknown} */ place) => ({ remove: { at: place } }));
      return [...others, { set: { at: steps(svg.dataset.zero), to: `${degrees} deg` } }];
    }
    const [width, height] = [Math.abs(to.x - from.x), Math.abs(to.y - from.y)];
    if (Math.min(width, height) < least) {
      return [];
    }
    const keys = [
      ["x", mm(Math.min(from.x, to.x))],
      ["y", mm(-Math.max(from.y, to.y))],
      ["width", mm(width)],
      ["height", mm(height)],
    ];
    return [{ add: { at: steps(svg.dataset.boxes), keys } }];
  };

  const show = (/** @type {SVGSVGElement} */ svg, /** @type {string} */ kind, /** @type {DOMPoint} */ from, /** @type {DOMPoint} */ to) => {
    const name = kind === "box" ? "rect" : "line";
    const shape = /** @type {SVGElement} */ (svg.querySelector(`${name}.drawn`));
    const values =
      name === "line"
        ? { x1: from.x, y1: from.y, x2: to.x, y2: to.y }
        : { x: Math.min(from.x, to.x), y: Math.min(from.y, to.y), width: Math.abs(to.x - from.x), height: Math.abs(to.y - from.y) };
    for (const [key, value] of Object.entries(values)) {
      shape.setAttribute(key, `${value}`);
    }
    shape.classList.add("shown");
  };

  document.addEventListener("click", (event) => {
    const target = event.target instanceof Element ? event.target : null;
    const button = target?.closest("[data-draw]");
    if (button) {
      const isOn = button.getAttribute("aria-pressed") === "true";
      release();
      button.setAttribute("aria-pressed", `${!isOn}`);
      if (!isOn) {
        // The drawing stays as it is until the stroke is made.
        document.body.dataset.held = "job";
      }
      return;
    }
    const outline = target?.closest(".drawing path[data-outline]");
    const figure = outline?.closest("figure");
    if (outline instanceof SVGElement && figure && !pressed(figure)) {
      const all = /** @type {NodeListOf<HTMLElement>} */ (figure.querySelectorAll("[data-of]"));
      for (const one of all) {
        one.classList.toggle("chosen", one.dataset.of === outline.dataset.outline);
      }
      const chosen = [...all].find((one) => one.dataset.of === outline.dataset.outline);
      chosen?.scrollIntoView({ block: "nearest" });
      /** @type {HTMLElement | null | undefined} */ (chosen?.querySelector("button"))?.focus();
    }
  });

  document.addEventListener("pointerdown", (event) => {
    const svg = event.target instanceof Element ? event.target.closest(".drawing svg") : null;
    const kind = svg && pressed(svg.closest("figure"))?.dataset.draw;
    if (svg instanceof SVGSVGElement && kind) {
      event.preventDefault();
      stroke = { svg, kind, from: at(svg, event) };
    }
  });
  document.addEventListener("pointermove", (event) => {
    if (stroke) {
      show(stroke.svg, stroke.kind, stroke.from, at(stroke.svg, event));
    }
  });
  document.addEventListener("pointerup", (event) => {
    if (!stroke) {
      return;
    }
    const { svg, kind, from } = stroke;
    const edits = changes(svg, kind, from, at(svg, event));
    if (edits.length > 0) {
      document.dispatchEvent(new CustomEvent("job-change", { detail: edits }));
    }
    release();
  });
  document.addEventListener("pointercancel", release);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      release();
    }
  });
})();
