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
  };

  /** Where the pointer is, in the drawing's millimetres, y down. */
  const at = (/** @type {SVGSVGElement} */ svg, /** @type {PointerEvent} */ event) =>
    new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM()?.inverse());

  const steps = (/** @type {string | undefined} */ written) => JSON.parse(written ?? "[]");
  const mm = (/** @type {number} */ value) => `${Math.round(value)} mm`;

  /** The changes that a stroke stands for; none for one that is only a click. */
  const changes = (/** @type {SVGSVGElement} */ svg, /** @type {string} */ kind, /** @type {DOMPoint} */ from, /** @type {DOMPoint} */ to) => {
    const view = svg.viewBox.baseVal;
    const least = 0.02 * Math.max(view.width, view.height);
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
    const name = kind === "zero" ? "line" : "rect";
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
    release();
    if (edits.length > 0) {
      document.dispatchEvent(new CustomEvent("job-change", { detail: edits }));
    }
  });
  document.addEventListener("pointercancel", release);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") {
      release();
    }
  });
})();
