/* Photos on their way: how far they are, and what to do when they did not arrive. */
"use strict";

{
  function sendingOf(element) {
    const form = element.closest?.("form[data-photos]");
    return form && { form, line: form.querySelector(".sending") };
  }

  function say(line, words, share) {
    line.hidden = false;
    line.querySelector("span").textContent = words;
    const bar = line.querySelector("progress");
    bar.hidden = share === null;
    bar.value = share ?? 0;
  }

  /* A picture from the camera is sent as it was taken: the hand is wet. */
  document.addEventListener("change", (event) => {
    const sending = sendingOf(event.target);
    if (sending && event.target.name === "camera" && event.target.files.length) {
      sending.form.requestSubmit();
    }
  });

  /* The server takes 25 MB at one time, and hangs up on more. */
  const MOST_MB = 24;
  const megabytes = (bytes) => Math.round(bytes / 1024 / 1024);

  document.addEventListener("htmx:beforeRequest", (event) => {
    const sending = sendingOf(event.target);
    if (!sending) {
      return;
    }
    const inputs = [...sending.form.querySelectorAll('input[type="file"]')];
    const files = inputs.flatMap((input) => [...input.files]);
    const bytes = files.reduce((sum, file) => sum + file.size, 0);
    if (bytes > MOST_MB * 1024 * 1024) {
      event.preventDefault();
      const told = `Not sent: ${megabytes(bytes)} MB together, and ${MOST_MB} MB go at one time.`;
      say(sending.line, `${told} Choose fewer.`, null);
    }
  });

  document.addEventListener("htmx:xhr:progress", (event) => {
    const sending = sendingOf(event.target);
    if (sending && event.detail.lengthComputable && event.detail.total > 0) {
      const share = Math.round((100 * event.detail.loaded) / event.detail.total);
      say(sending.line, share < 100 ? `${share} % sent` : "sent, being looked at", share);
    }
  });

  for (const name of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
    document.addEventListener(name, (event) => {
      const sending = sendingOf(event.target);
      if (sending) {
        say(sending.line, "Not saved: they did not arrive. Try again.", null);
      }
    });
  }

  document.addEventListener("htmx:afterSettle", (event) => {
    event.target.querySelector?.('form[data-photos] [aria-invalid="true"]')?.focus();
  });
}
