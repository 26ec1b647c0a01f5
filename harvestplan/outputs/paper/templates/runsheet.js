"use strict";
(() => {
  const body = document.body;
  const place = "run sheet " + body.dataset.key;
  const lateBy = Number(body.dataset.late);
  const halfDay = "halfDay" in body.dataset;
  const ticks = [...document.querySelectorAll("[data-tick]")];
  const steps = [...document.querySelectorAll("[data-step]")];
  const timers = [...document.querySelectorAll("[data-timer]")];
  const said = document.getElementById("said");

  // Where the browser keeps nothing for local files, the sheet still works until it is closed.
  const kept = { ticked: {}, started: {}, late: {}, screen: {} };
  try {
    const found = JSON.parse(localStorage.getItem(place));
    for (const name of Object.keys(kept)) Object.assign(kept[name], found && found[name]);
  } catch (error) { /* nothing is kept here */ }
  const keep = () => {
    try { localStorage.setItem(place, JSON.stringify(kept)); } catch (error) { /* as above */ }
  };

  const clock = (minute) => {
    const within = ((minute % 1440) + 1440) % 1440;
    const hour = Math.floor(within / 60);
    const rest = String(within % 60).padStart(2, "0");
    if (!halfDay) return String(hour).padStart(2, "0") + ":" + rest;
    return ((hour + 23) % 12 + 1) + ":" + rest + (hour < 12 ? " am" : " pm");
  };
  const count = (seconds) => {
    const whole = Math.abs(seconds);
    const hours = Math.floor(whole / 3600), minutes = Math.floor(whole / 60) % 60;
    const rest = String(whole % 60).padStart(2, "0");
    return hours ? hours + ":" + String(minutes).padStart(2, "0") + ":" + rest
      : minutes + ":" + rest;
  };
  const isDone = (step) => step.querySelector("input").checked;

  function showSteps() {
    const next = steps.find((step) => !isDone(step));
    let shifts = 0;
    for (const step of steps) {
      const late = kept.late[step.dataset.step] || 0;
      const planned = step.querySelector(".planned");
      let shifted = step.querySelector(".shifted");
      if (!shifted) {
        shifted = document.createElement("span");
        shifted.className = "shifted";
        planned.after(shifted);
      }
      planned.hidden = late > 0;
      shifted.hidden = late === 0;
      shifted.textContent = clock(Number(step.dataset.minute) + late);
      if (late && !isDone(step)) shifts += 1;
      if (step === next) step.setAttribute("aria-current", "step");
      else step.removeAttribute("aria-current");
    }
    document.getElementById("back").disabled = shifts === 0;
  }

  function shift(minutes) {
    for (const step of steps) {
      if (isDone(step)) continue;
      const key = step.dataset.step;
      kept.late[key] = Math.max(0, (kept.late[key] || 0) + minutes);
    }
    keep();
    showSteps();
    const next = steps.find((step) => !isDone(step));
    if (next) {
      const late = kept.late[next.dataset.step];
      said.textContent = late ? "All that is not ticked is now " + late + " minutes later."
        : "Back to the planned times.";
    }
  }

  let sound = null;
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

  function showTimers() {
    for (const timer of timers) {
      const start = kept.started[timer.dataset.timer];
      if (!timer.dataset.idle) timer.dataset.idle = timer.textContent;
      if (!start) {
        timer.textContent = timer.dataset.idle;
        timer.classList.remove("running", "over");
        continue;
      }
      const left = Math.ceil(Number(timer.dataset.seconds) - (Date.now() - start) / 1000);
      if (left <= 0 && !timer.classList.contains("over")) {
        said.textContent = "Time is up: " + timer.closest("li").querySelector(".told")
          .textContent.trim();
        chime();
      }
      timer.classList.toggle("running", left > 0);
      timer.classList.toggle("over", left <= 0);
      timer.textContent = (left > 0 ? count(left) : "Over " + count(left)) + ", stop";
    }
  }

  let lock = null;
  async function stayAwake() {
    try {
      lock = await navigator.wakeLock.request("screen");
      said.textContent = "The screen stays on while this page is open.";
    } catch (error) {
      said.textContent = "This device does not let the page keep the screen on: "
        + "set a long screen time-out.";
    }
  }

  for (const box of ticks) {
    box.checked = Boolean(kept.ticked[box.dataset.tick] ?? box.defaultChecked);
    box.addEventListener("change", () => {
      kept.ticked[box.dataset.tick] = box.checked;
      keep();
      showSteps();
    });
  }
  for (const timer of timers) {
    timer.hidden = false;
    timer.addEventListener("click", () => {
      try {
        sound = sound || new AudioContext();
        sound.resume();
      } catch (error) { /* no sound here */ }
      const key = timer.dataset.timer;
      if (kept.started[key]) delete kept.started[key];
      else kept.started[key] = Date.now();
      said.textContent = "";
      keep();
      showTimers();
    });
  }
  document.getElementById("late").addEventListener("click", () => shift(lateBy));
  document.getElementById("back").addEventListener("click", () => shift(-lateBy));
  document.getElementById("awake").addEventListener("click", () => {
    kept.screen.on = true;
    keep();
    stayAwake();
  });
  document.addEventListener("visibilitychange", () => {
    if (kept.screen.on && document.visibilityState === "visible") stayAwake();
  });
  document.querySelector(".bar").hidden = false;
  document.querySelector(".tablet").hidden = false;
  if (kept.screen.on) stayAwake();
  showSteps();
  showTimers();
  setInterval(showTimers, 250);
})();
