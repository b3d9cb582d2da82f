// Put into pages by `plan --watch` only: loads the page again when there is a new plan, and says so
// while the job has a problem. The files of the plan do not hold this.
(() => {
  const shown = "@PLAN@";
  const turn = @TURN@;
  let banner;
  const tell = (head, text) => {
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
  const events = new EventSource("/-/events");
  events.onmessage = (event) => {
    const state = JSON.parse(event.data);
    // Before the first plan the page itself shows the problem.
    const isOld = shown === "" ? state.turn !== turn : state.plan !== shown;
    if (isOld) {
      location.reload();
    } else if (shown !== "") {
      tell(state.problem && "The job has a problem; this is the plan before it.", state.problem);
    }
  };
  events.onerror = () => tell("The program that plans has ended; this is its last plan.");
})();
