/* What is set on this device alone, and its ways to be heard: a quiet sound, a buzz. */
"use strict";

const workshopDevice = (() => {
  /* Two soft notes, one after the other: hertz, and seconds from the start. */
  const NOTES = [[660, 0], [880, 0.22]];
  const LOUDNESS = 0.12;
  const LASTS_S = 0.7;
  let audio = null;

  function kept(name, otherwise) {
    try {
      return localStorage.getItem(name) ?? otherwise;
    } catch {
      return otherwise; /* a browser that keeps nothing */
    }
  }

  function keep(name, value) {
    try {
      localStorage.setItem(name, value);
    } catch {
      /* it holds until the page is left */
    }
  }

  /* Browsers let nothing sound before the page was touched; afterwards it may, by itself. */
  function wake() {
    audio ??= new AudioContext();
    audio.resume();
  }

  function note(hertz, start) {
    const tone = audio.createOscillator();
    const loudness = audio.createGain();
    tone.frequency.value = hertz;
    loudness.gain.setValueAtTime(LOUDNESS, start);
    loudness.gain.exponentialRampToValueAtTime(0.0001, start + LASTS_S);
    tone.connect(loudness).connect(audio.destination);
    tone.start(start);
    tone.stop(start + LASTS_S);
  }

  function chime() {
    if (audio) {
      audio.resume();
      NOTES.forEach(([hertz, after]) => note(hertz, audio.currentTime + after));
    }
  }

  function buzz() {
    if (navigator.userActivation?.hasBeenActive) {
      navigator.vibrate?.([200, 100, 200]);
    }
  }

  document.addEventListener("pointerdown", wake, { once: true });
  document.addEventListener("keydown", wake, { once: true });
  document.documentElement.classList.add("scripted");
  return { kept, keep, chime, buzz };
})();
