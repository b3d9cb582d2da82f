// How pieces lie beside each other: which places are free for one of them, and where it comes to rest when it is pushed
// against the others. Lengths in mm, y up. Nothing here knows the page.

/** An outline: rings of x, y, x, y, …; what lies in an odd number of rings is inside. @typedef {Float64Array[]} Rings */
/** A box. @typedef {{ x0: number, y0: number, x1: number, y1: number }} Box */
/** @typedef {{ x: number, y: number }} At */

/** Outlines are rounded to this; so much more is kept clear. */
const ROUNDED = 0.025;
/** Contact is found to this. */
const FINE = 0.01;
/** At most so many turns of the way along the neighbours in one move. */
const MOST_TURNS = 8;

/** @param {Rings} rings @returns {Box} */
export const boxOf = (rings) => {
  const box = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i += 2) {
      box.x0 = Math.min(box.x0, ring[i]);
      box.x1 = Math.max(box.x1, ring[i]);
      box.y0 = Math.min(box.y0, ring[i + 1]);
      box.y1 = Math.max(box.y1, ring[i + 1]);
    }
  }
  return box;
};

/** Whether a place is inside an outline. @param {Rings} rings @param {number} x @param {number} y */
export const isInside = (rings, x, y) => {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
      const [y1, y2] = [ring[i + 1], ring[j + 1]];
      if (y1 > y !== y2 > y && x < ring[i] + ((y - y1) / (y2 - y1)) * (ring[j] - ring[i])) {
        inside = !inside;
      }
    }
  }
  return inside;
};

/** Turned about the middle of its box from one turn to another: rotated, then mirrored if it is turned over.
 * @param {Rings} rings @param {[number, boolean]} from @param {[number, boolean]} to @returns {Rings} */
export const turned = (rings, [from, wasOver], [to, isOver]) => {
  const box = boxOf(rings);
  const [mx, my] = [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2];
  const angle = ((wasOver ? from : -from) * Math.PI) / 180;
  const then = (to * Math.PI) / 180;
  const rotate = (/** @type {number} */ x, /** @type {number} */ y, /** @type {number} */ by) => {
    // Quarter turns are exact.
    const [cos, sin] = [Math.cos(by), Math.sin(by)].map((v) => (Math.abs(v - Math.round(v)) < 1e-12 ? Math.round(v) : v));
    return [x * cos - y * sin, x * sin + y * cos];
  };
  return rings.map((ring) => {
    const out = new Float64Array(ring.length);
    for (let i = 0; i < ring.length; i += 2) {
      let [x, y] = rotate(ring[i] - mx, ring[i + 1] - my, angle);
      y = wasOver ? -y : y;
      [x, y] = rotate(x, y, then);
      out[i] = mx + x;
      out[i + 1] = my + (isOver ? -y : y);
    }
    return out;
  });
};

/** All that lies still on a roll: edges in a grid, so that those near a place are found at once. */
export class Still {
  /** @param {Box} within where pieces may lie @param {number} cell side of a field of the grid */
  constructor(within, cell) {
    this.within = within;
    this.cell = cell;
    /** @type {{ rings: Rings, box: Box, clear: number, mustHold: boolean }[]} */
    this.owners = [];
    /** Of each edge: x, y, x, y, its owner. @type {number[]} */
    this.edges = [];
    /** @type {Map<number, number[]>} */
    this.fields = new Map();
    this.mark = new Int32Array(0);
    this.round = 0;
  }

  /** Adds an outline that keeps `clear` around itself; one that must hold the piece is cloth, with nothing outside.
   * @param {Rings} rings @param {number} clear */
  add(rings, clear, mustHold = false) {
    const owner = this.owners.length;
    this.owners.push({ rings, box: boxOf(rings), clear, mustHold });
    for (const ring of rings) {
      for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
        const edge = this.edges.length / 5;
        this.edges.push(ring[j], ring[j + 1], ring[i], ring[i + 1], owner);
        const to = (/** @type {number} */ v) => Math.floor(v / this.cell);
        for (let fx = to(Math.min(ring[j], ring[i])); fx <= to(Math.max(ring[j], ring[i])); fx++) {
          for (let fy = to(Math.min(ring[j + 1], ring[i + 1])); fy <= to(Math.max(ring[j + 1], ring[i + 1])); fy++) {
            const key = fx * 65536 + fy;
            const field = this.fields.get(key);
            field ? field.push(edge) : this.fields.set(key, [edge]);
          }
        }
      }
    }
    return owner;
  }

  /** Hands every edge in or beside a box to `see`, each once, until that answers true.
   * @param {Box} box @param {number} but owner that is passed over @param {(edge: number) => boolean} see */
  near(box, but, see) {
    const n = this.edges.length / 5;
    if (this.mark.length < n) {
      this.mark = new Int32Array(n);
      this.round = 0;
    }
    this.round++;
    const to = (/** @type {number} */ v) => Math.floor(v / this.cell);
    for (let fx = to(box.x0); fx <= to(box.x1); fx++) {
      for (let fy = to(box.y0); fy <= to(box.y1); fy++) {
        for (const edge of this.fields.get(fx * 65536 + fy) ?? []) {
          if (this.mark[edge] !== this.round && this.edges[edge * 5 + 4] !== but) {
            this.mark[edge] = this.round;
            if (see(edge)) {
              return true;
            }
          }
        }
      }
    }
    return false;
  }
}

/** The nearest places of two edges and how far they are apart; 0 where they cross.
 * @param {number} ax @param {number} ay @param {number} bx @param {number} by
 * @param {number} cx @param {number} cy @param {number} dx @param {number} dy
 * @returns {[number, number, number]} distance, and the way from the second edge to the first */
const apart = (ax, ay, bx, by, cx, cy, dx, dy) => {
  const side = (/** @type {number} */ px, /** @type {number} */ py, /** @type {number} */ qx, /** @type {number} */ qy, /** @type {number} */ rx, /** @type {number} */ ry) =>
    (qx - px) * (ry - py) - (qy - py) * (rx - px);
  if (side(ax, ay, bx, by, cx, cy) * side(ax, ay, bx, by, dx, dy) < 0 && side(cx, cy, dx, dy, ax, ay) * side(cx, cy, dx, dy, bx, by) < 0) {
    return [0, 0, 0];
  }
  /** @type {[number, number, number]} */
  let best = [Infinity, 0, 0];
  const point = (/** @type {number} */ px, /** @type {number} */ py, /** @type {number} */ qx, /** @type {number} */ qy, /** @type {number} */ rx, /** @type {number} */ ry, /** @type {number} */ sign) => {
    const [ux, uy] = [rx - qx, ry - qy];
    const length = ux * ux + uy * uy;
    const t = length > 0 ? Math.max(0, Math.min(1, ((px - qx) * ux + (py - qy) * uy) / length)) : 0;
    const [vx, vy] = [px - qx - t * ux, py - qy - t * uy];
    const d = Math.hypot(vx, vy);
    if (d < best[0]) {
      best = [d, sign * vx, sign * vy];
    }
  };
  point(ax, ay, cx, cy, dx, dy, 1);
  point(bx, by, cx, cy, dx, dy, 1);
  point(cx, cy, ax, ay, bx, by, -1);
  point(dx, dy, ax, ay, bx, by, -1);
  return best;
};

/** So many edges of the piece in a row are passed over together. */
const ROW = 8;
/** So far around the piece what lies still is looked up at once. */
const AROUND = 60;

/** A piece that is moved among what lies still. */
export class Moved {
  /** @param {Still} still @param {number} own what of it is the piece itself @param {Rings} rings */
  constructor(still, own, rings) {
    this.still = still;
    this.own = own;
    this.rings = rings;
    this.box = boxOf(rings);
    this.mostClear = still.owners.reduce((most, one) => Math.max(most, one.clear), 0) + ROUNDED;
    const edges = rings.flatMap((ring) => {
      const n = ring.length / 2;
      return Array.from({ length: n }, (_, i) => [ring[2 * i], ring[2 * i + 1], ring[2 * ((i + 1) % n)], ring[2 * ((i + 1) % n) + 1]]);
    });
    /** Its edges one after another. */
    this.edges = new Float64Array(edges.flat());
    /** The box of each row of them. */
    this.rows = new Float64Array(
      Array.from({ length: Math.ceil(edges.length / ROW) }, (_, row) => {
        const { x0, y0, x1, y1 } = boxOf([new Float64Array(edges.slice(row * ROW, row * ROW + ROW).flat())]);
        return [x0, y0, x1, y1];
      }).flat(),
    );
    /** The edges that lie still near it, and whose they are. @type {number[]} */
    this.nearby = [];
    /** @type {number[]} */
    this.neighbours = [];
    /** @type {Box} */
    this.known = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };
    /** The edge that was in the way last. */
    this.last = 0;
  }

  /** Its box, moved. @param {At} at @returns {Box} */
  boxAt(at) {
    const { x0, y0, x1, y1 } = this.box;
    return { x0: x0 + at.x, y0: y0 + at.y, x1: x1 + at.x, y1: y1 + at.y };
  }

  /** Looks up what lies near the box. @param {Box} box */
  look(box) {
    const { known } = this;
    if (box.x0 >= known.x0 && box.y0 >= known.y0 && box.x1 <= known.x1 && box.y1 <= known.y1) {
      return;
    }
    const around = { x0: box.x0 - AROUND, y0: box.y0 - AROUND, x1: box.x1 + AROUND, y1: box.y1 + AROUND };
    this.nearby = [];
    this.still.near(around, this.own, (edge) => {
      this.nearby.push(edge);
      return false;
    });
    this.neighbours = [];
    this.still.owners.forEach(({ box: other, mustHold }, owner) => {
      const meets = other.x0 <= around.x1 && other.x1 >= around.x0 && other.y0 <= around.y1 && other.y1 >= around.y0;
      if (owner !== this.own && (meets || mustHold)) {
        this.neighbours.push(owner);
      }
    });
    this.known = around;
    this.last = 0;
  }

  /** Hands each pair of edges that are nearer than `reach` to `see`, until that answers true.
   * @param {At} at @param {number} reach @param {(edge: number, d: number, vx: number, vy: number) => boolean} see */
  pairs(at, reach, see) {
    const own = this.boxAt(at);
    this.look({ x0: own.x0 - reach, y0: own.y0 - reach, x1: own.x1 + reach, y1: own.y1 + reach });
    const { nearby, rows, edges } = this;
    const all = this.still.edges;
    const n = nearby.length;
    // What was in the way last is most likely to be so again.
    for (let step = 0; step < n; step++) {
      const which = (this.last + step) % n;
      const edge = nearby[which];
      const k = edge * 5;
      // Seen from the piece.
      const [cx, cy, dx, dy] = [all[k] - at.x, all[k + 1] - at.y, all[k + 2] - at.x, all[k + 3] - at.y];
      const [x0, x1] = cx < dx ? [cx - reach, dx + reach] : [dx - reach, cx + reach];
      const [y0, y1] = cy < dy ? [cy - reach, dy + reach] : [dy - reach, cy + reach];
      if (x1 < this.box.x0 || x0 > this.box.x1 || y1 < this.box.y0 || y0 > this.box.y1) {
        continue;
      }
      for (let row = 0; row < rows.length; row += 4) {
        if (x1 < rows[row] || y1 < rows[row + 1] || x0 > rows[row + 2] || y0 > rows[row + 3]) {
          continue;
        }
        const end = Math.min((row / 4 + 1) * ROW * 4, edges.length);
        for (let i = row * ROW; i < end; i += 4) {
          const [ax, ay, bx, by] = [edges[i], edges[i + 1], edges[i + 2], edges[i + 3]];
          const misses = (ax < x0 && bx < x0) || (ax > x1 && bx > x1) || (ay < y0 && by < y0) || (ay > y1 && by > y1);
          if (!misses) {
            const [d, vx, vy] = apart(ax, ay, bx, by, cx, cy, dx, dy);
            if (see(edge, d, vx, vy)) {
              this.last = which;
              return true;
            }
          }
        }
      }
    }
    return false;
  }

  /** Whether it sticks out of where pieces may lie. @param {At} at */
  sticksOut(at) {
    const [own, all] = [this.boxAt(at), this.still.within];
    return own.x0 < all.x0 - 1e-6 || own.y0 < all.y0 - 1e-6 || own.x1 > all.x1 + 1e-6 || own.y1 > all.y1 + 1e-6;
  }

  /** Whether one lies wholly inside another's outline. @param {At} at @param {number} owner */
  isWithin(at, owner) {
    const { rings, box, mustHold } = this.still.owners[owner];
    const own = this.boxAt(at);
    if (own.x0 > box.x1 || own.x1 < box.x0 || own.y0 > box.y1 || own.y1 < box.y0) {
      return mustHold;
    }
    if (isInside(rings, this.rings[0][0] + at.x, this.rings[0][1] + at.y)) {
      return !mustHold;
    }
    return mustHold || isInside(this.rings, rings[0][0] - at.x, rings[0][1] - at.y);
  }

  /** Whether it may lie there. @param {At} at */
  isFree(at) {
    if (this.sticksOut(at)) {
      return false;
    }
    const { owners, edges } = this.still;
    const isHit = this.pairs(at, this.mostClear, (edge, d) => d < owners[edges[edge * 5 + 4]].clear + ROUNDED);
    return !isHit && !this.neighbours.some((owner) => this.isWithin(at, owner));
  }

  /** What is in its way there. @param {At} at @returns {Set<number>} */
  hits(at) {
    const { owners, edges } = this.still;
    /** @type {Set<number>} */
    const found = new Set();
    this.pairs(at, this.mostClear, (edge, d) => {
      const owner = edges[edge * 5 + 4];
      if (d < owners[owner].clear + ROUNDED) {
        found.add(owner);
      }
      return false;
    });
    for (const owner of this.neighbours.filter((one) => this.isWithin(at, one))) {
      found.add(owner);
    }
    return found;
  }

  /** The nearest that it could touch within `reach`: how far it is, and the way from it.
   * @param {At} at @param {number} reach @returns {{ slack: number, nx: number, ny: number }} */
  nearest(at, reach) {
    const { owners, edges, within } = this.still;
    let best = { slack: Infinity, nx: 0, ny: 0 };
    this.pairs(at, reach + this.mostClear, (edge, d, vx, vy) => {
      const slack = d - owners[edges[edge * 5 + 4]].clear - ROUNDED;
      if (slack < best.slack && d > 1e-9) {
        best = { slack, nx: vx / d, ny: vy / d };
      }
      return false;
    });
    const own = this.boxAt(at);
    /** @type {[number, number, number][]} */
    const sides = [[own.x0 - within.x0, 1, 0], [within.x1 - own.x1, -1, 0], [own.y0 - within.y0, 0, 1], [within.y1 - own.y1, 0, -1]];
    for (const [slack, nx, ny] of sides) {
      if (slack < best.slack) {
        best = { slack, nx, ny };
      }
    }
    return best;
  }

  /** As far from a free place towards another as it may go. @param {At} from @param {At} to @returns {At} */
  towards(from, to) {
    if (this.isFree(to)) {
      return to;
    }
    const way = Math.hypot(to.x - from.x, to.y - from.y);
    let [low, high] = [0, 1];
    while ((high - low) * way > FINE) {
      const middle = (low + high) / 2;
      const at = { x: from.x + middle * (to.x - from.x), y: from.y + middle * (to.y - from.y) };
      this.isFree(at) ? (low = middle) : (high = middle);
    }
    return { x: from.x + low * (to.x - from.x), y: from.y + low * (to.y - from.y) };
  }

  /** Pushed from a free place towards another it slides along what is in its way; where it comes to rest.
   * @param {At} from @param {At} to @returns {At} */
  slid(from, to) {
    let at = this.towards(from, to);
    for (let turn = 0; turn < MOST_TURNS; turn++) {
      const [rx, ry] = [to.x - at.x, to.y - at.y];
      if (Math.hypot(rx, ry) < 4 * FINE) {
        break;
      }
      const { slack, nx, ny } = this.nearest(at, 1);
      if (slack === Infinity) {
        break;
      }
      const along = -ny * rx + nx * ry;
      // A little off the neighbour, along it, and on from there.
      const off = { x: at.x + 2 * FINE * nx, y: at.y + 2 * FINE * ny };
      const start = this.isFree(off) ? off : at;
      const beside = this.towards(start, { x: start.x - ny * along, y: start.y + nx * along });
      const next = this.towards(beside, to);
      const gained = Math.hypot(rx, ry) - Math.hypot(to.x - next.x, to.y - next.y);
      if (gained < FINE) {
        break;
      }
      at = next;
    }
    return at;
  }

  /** Moved into contact with what lies within `reach`, with two neighbours if there are two.
   * @param {At} at @param {number} reach @returns {At} */
  snapped(at, reach) {
    let here = at;
    for (let turn = 0; turn < 2; turn++) {
      const { slack, nx, ny } = this.nearest(here, reach);
      if (turn === 0 ? slack > reach : slack < FINE || slack > reach) {
        // In contact already: what lies to the side is the second.
        const [a, b] = [{ x: here.x - ny * reach, y: here.y + nx * reach }, { x: here.x + ny * reach, y: here.y - nx * reach }];
        const sideways = slack <= reach ? [a, b].map((to) => ({ to, end: this.towards(here, to) })) : [];
        const stopped = sideways.filter(({ to, end }) => Math.hypot(to.x - end.x, to.y - end.y) > 4 * FINE);
        return stopped[0]?.end ?? here;
      }
      const touching = { x: here.x - slack * nx, y: here.y - slack * ny };
      if (slack > FINE && this.isFree(touching)) {
        here = touching;
      }
    }
    return here;
  }
}
