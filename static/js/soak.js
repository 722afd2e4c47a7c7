/* The soak timer: so long in the water, so long at rest; it outlives leaving the page. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const KEPT = "soak";
  const RINGS = 3;
  const RING_EVERY_MS = 2000;
  /* A soak that ended so long ago was forgotten or seen to: nobody is told any more. */
  const FORGOTTEN_MS = 15 * 60 * 1000;
  let clock = null;
  let ticking = null;
  let rung = 0;

  function running() {
    try {
      const soak = JSON.parse(workshopDevice.kept(KEPT, "null"));
      const over = soak && Date.now() - soak.start - 1000 * (soak.water + soak.rest);
      return soak && over < FORGOTTEN_MS ? soak : null;
    } catch {
      return null;
    }
  }

  function seconds(name, otherwise) {
    const set = Number(workshopDevice.kept(name, ""));
    return set >= 1 && set <= 600 ? set : Number(otherwise);
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-soak-water]");
    if (button) {
      const water = seconds("soak-water", button.dataset.soakWater);
      const rest = seconds("soak-rest", button.dataset.soakRest);
      workshopDevice.keep(KEPT, JSON.stringify({ start: Date.now(), water, rest }));
      rung = 0;
      run();
    }
  });

  function run() {
    clearInterval(ticking);
    if (running()) {
      clock ??= makeClock();
      clock.hidden = false;
      ticking = setInterval(show, 250);
      show();
    }
  }

  function stop() {
    clearInterval(ticking);
    workshopDevice.keep(KEPT, "null");
    clock.hidden = true;
  }

  function show() {
    const soak = running();
    if (!soak) {
      return stop();
    }
    const gone = (Date.now() - soak.start) / 1000;
    const [words, left] = phase(soak, gone);
    const [told, figure] = clock.querySelectorAll("p");
    if (told.textContent !== words) {
      told.textContent = words;
    }
    figure.textContent = left > 0 ? `${Math.ceil(left)} s` : "";
    clock.classList.toggle("over", left <= 0);
    clock.querySelector("button").textContent = left > 0 ? "Stop" : "Done";
    if (left <= 0) {
      ring(gone - soak.water - soak.rest);
    }
  }

  function phase(soak, gone) {
    if (gone < soak.water) {
      return ["In the water.", soak.water - gone];
    }
    const left = soak.water + soak.rest - gone;
    return left > 0 ? ["Out of the water, let it rest.", left] : ["Soaked: it slides now.", 0];
  }

  /* Rung a few times, then quiet: the words stay until somebody has seen them. */
  function ring(over) {
    if (rung < RINGS && over * 1000 >= rung * RING_EVERY_MS) {
      rung += 1;
      workshopDevice.chime();
      workshopDevice.buzz();
    }
  }

  function makeClock() {
    const made = document.createElement("div");
    made.id = "soak-clock";
    made.className = "soak-clock";
    made.setAttribute("role", "group");
    made.setAttribute("aria-label", "Soak timer");
    const told = document.createElement("p");
    told.setAttribute("aria-live", "polite");
    const button = document.createElement("button");
    button.type = "button";
    button.addEventListener("click", stop);
    made.append(told, document.createElement("p"), button);
    document.querySelector("main").before(made);
    return made;
  }

  run();
});
