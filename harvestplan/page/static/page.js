"use strict";
(() => {
  // Everything here is a help; each action is a form that works without it.
  const said = document.getElementById("said");
  const tell = (words) => { if (said) said.textContent = words; };

  for (const field of document.querySelectorAll(".stepper input")) {
    for (const [sign, by, word] of [["−", -1, "One fewer"], ["+", 1, "One more"]]) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = sign;
      const label = field.closest(".field").querySelector("label");
      button.setAttribute("aria-label", word + (label ? ": " + label.textContent : ""));
      button.addEventListener("click", () => {
        const now = Number.parseInt(field.value, 10) || 0;
        field.value = Math.min(Number(field.dataset.high), Math.max(Number(field.dataset.low), now + by));
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
      if (by < 0) field.before(button); else field.after(button);
    }
  }

  for (const button of document.querySelectorAll("[data-wait]")) {
    button.form.addEventListener("submit", (event) => {
      if (event.submitter !== button) return;
      button.textContent = button.dataset.wait;
      setTimeout(() => { button.disabled = true; });
    });
  }
  addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });

  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.addEventListener("click", () => window.print());
  }

  for (const range of document.querySelectorAll("[data-shows]")) {
    const shown = document.getElementById(range.dataset.shows);
    shown.hidden = false;
    shown.textContent = range.value;  // as the browser kept it
    range.addEventListener("input", () => { shown.textContent = range.value; });
  }
  for (const part of document.querySelectorAll("[data-again]")) {
    setTimeout(() => { if (!document.querySelector("input:focus, select:focus")) location.reload(); }, Number(part.dataset.again));
  }

  // Planning: how far it is, as the server tells.
  const follow = document.querySelector("[data-follow]");
  if (follow) {
    const part = (name) => follow.querySelector("[data-" + name + "]");
    const source = new EventSource(follow.dataset.follow);
    source.addEventListener("message", (event) => {
      const now = JSON.parse(event.data);
      if (now.state !== "running") { source.close(); location.reload(); return; }
      part("spent").textContent = now.spent;
      part("left").textContent = now.left ? "About " + now.left + " left." : "";
      if (now.share !== null) part("share").value = now.share;
      part("lines").replaceChildren(...now.lines.map((line) => {
        const item = document.createElement("li");
        item.textContent = line;
        return item;
      }));
    });
  }

  // The run sheet: taps without loading the page, and what other devices tapped.
  const taps = document.querySelector("form[data-live]");
  if (!taps) return;
  let version = Number(taps.dataset.version), sound = null, rung = new Set();

  function take(text) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const form = page.querySelector("form[data-live]");
    if (!form) { location.reload(); return; }
    version = Number(form.dataset.version);
    const held = document.activeElement && document.activeElement.id;
    for (const item of page.querySelectorAll(".todo > li[id], #back")) {
      const here = document.getElementById(item.id);
      if (here && here.outerHTML !== item.outerHTML) here.replaceWith(document.importNode(item, true));
    }
    taps.replaceChildren(...[...form.children].map((each) => document.importNode(each, true)));
    if (held && document.activeElement === document.body) {
      const again = document.getElementById(held);
      if (again) again.focus({ preventScroll: true });
    }
    begin();
  }
  const fresh = () => fetch(location.pathname).then((answer) => answer.ok ? answer.text() : "")
    .then((text) => { if (text) take(text); }).catch(() => tell("No connection to the computer just now."));

  taps.addEventListener("submit", (event) => {
    event.preventDefault();
    const body = new URLSearchParams(new FormData(taps, event.submitter));
    try { sound = sound || new AudioContext(); sound.resume(); } catch (error) { /* no sound here */ }
    fetch(taps.action, { method: "POST", body })
      .then((answer) => answer.text().then((text) => ({ answer, text })))
      .then(({ answer, text }) => {
        if (!answer.ok) { tell("That was not taken. Load the page again."); return; }
        tell(body.get("set").startsWith("late") ? "All that is not ticked has moved." : "");
        take(text);
      })
      .catch(() => tell("No connection to the computer just now. Tap again in a moment."));
  });

  function listen() {
    const source = new EventSource(taps.dataset.live);
    source.addEventListener("message", (event) => { if (Number(event.data) !== version) fresh(); });
    source.addEventListener("open", () => { if (said.textContent.startsWith("No connection")) tell(""); });
    document.addEventListener("visibilitychange", () => {
      // A screen that was asleep may have lost the line without knowing.
      if (document.visibilityState === "visible") { fresh(); if (source.readyState === 2) location.reload(); }
    });
  }

  let began = new Map();
  function begin() {
    began = new Map();
    for (const timer of document.querySelectorAll("[data-left]")) {
      began.set(timer.id, performance.now() + 1000 * Number(timer.dataset.left));
    }
  }
  const two = (number) => String(number).padStart(2, "0");
  function chime() {
    try {
      for (const wait of [0, 0.35, 0.7]) {
        const tone = sound.createOscillator(), level = sound.createGain();
        tone.frequency.value = 880;
        level.gain.value = 0.2;
        tone.connect(level).connect(sound.destination);
        tone.start(sound.currentTime + wait);
        tone.stop(sound.currentTime + wait + 0.2);
      }
    } catch (error) { /* no sound here; the sheet shows it as well */ }
  }
  setInterval(() => {
    for (const [id, end] of began) {
      const timer = document.getElementById(id);
      if (!timer) continue;
      const left = Math.ceil((end - performance.now()) / 1000), whole = Math.abs(left);
      const shown = Math.floor(whole / 60) + ":" + two(whole % 60);
      timer.textContent = (left > 0 ? shown : "Over by " + shown) + ", stop";
      timer.classList.toggle("running", left > 0);
      timer.classList.toggle("over", left <= 0);
      if (left <= 0 && !rung.has(id + end)) {
        rung.add(id + end);
        if (left > -5) {
          tell("Time is up: " + timer.closest("li").querySelector(".told").textContent.trim());
          chime();
        }
      }
    }
  }, 250);

  const awake = document.querySelector("[data-awake]");
  if (navigator.wakeLock) {
    awake.hidden = false;
    let wanted = false;
    const stay = () => navigator.wakeLock.request("screen")
      .then(() => tell("The screen stays on while this page is open."))
      .catch(() => tell("This device does not let the page keep the screen on: set a long screen time-out."));
    awake.addEventListener("click", () => { wanted = true; stay(); });
    document.addEventListener("visibilitychange", () => { if (wanted && document.visibilityState === "visible") stay(); });
  }
  begin();
  listen();
})();
