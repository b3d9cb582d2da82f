// Put into pages by `plan --watch` only: loads the page again when there is a new plan, and says so
// while the job has a problem. The files of the plan do not hold this.
(() => {
  const { plan: shown, turn } = /** @type {HTMLScriptElement} */ (document.currentScript).dataset;
  // The key has become a cookie; in the address it could be seen over a shoulder.
  if (location.search) {
    history.replaceState(null, "", location.pathname + location.hash);
  }
  /** @type {HTMLElement | undefined} */
  let banner;
  const tell = (/** @type {string | false} */ head, /** @type {string} */ text) => {
    if (!head) {
      banner?.remove();
      banner = undefined;
      return;
    }
    if (!banner) {
      banner = document.createElement("div");
      banner.id = "watch-problem";
      banner.setAttribute("role", "alert");
      banner.style.cssText = "position:sticky;top:0;z-index:9;padding:.7em 1em;margin-bottom:1em;max-height:45vh;" +
        "overflow:auto;background:#7a1f00;color:#fff;font:15px/1.4 system-ui,sans-serif;text-align:left";
      document.body.prepend(banner);
    }
    const title = document.createElement("strong");
    title.textContent = head;
    banner.replaceChildren(title);
    if (text) {
      const detail = document.createElement("pre");
      detail.textContent = text;
      detail.style.cssText = "margin:.5em 0 0;white-space:pre-wrap;color:inherit;background:none;font-size:13px";
      banner.append(detail);
    }
  };
  // Milliseconds without the program before it is told: it ends every connection now and then.
  const patience = 3000;
  /** @type {number | undefined} */
  let alone;
  const listen = () => {
    const events = new EventSource("/-/events");
    events.onmessage = (event) => {
      clearTimeout(alone);
      alone = undefined;
      const state = JSON.parse(event.data);
      // Before the first plan the page itself shows the problem.
      const isOld = shown === "" ? String(state.turn) !== turn : state.plan !== shown;
      if (isOld) {
        location.reload();
      } else {
        tell(shown !== "" && state.problem && "The job has a problem; this is the plan before it.", state.problem);
      }
    };
    events.onerror = () => {
      alone ??= setTimeout(() => tell("The program that plans has ended; this is its last plan.",
        "Started again, it prints a new address. Once that is open in this browser, this page goes on too."), patience);
      // Turned away: the next run has another key, which this browser may learn.
      if (events.readyState === EventSource.CLOSED) {
        setTimeout(listen, patience);
      }
    };
  };
  listen();
})();
