/* The settings of this device: kept in its browser, sent nowhere. */
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const sound = document.getElementById("tell-sound");
  const notes = document.getElementById("tell-notification");
  const told = document.getElementById("this-device-told");
  if (!sound) {
    return;
  }

  function mayNotify() {
    return "Notification" in window && window.isSecureContext;
  }

  sound.checked = workshopDevice.kept("tell-sound", "off") === "on";
  sound.addEventListener("change", () => {
    workshopDevice.keep("tell-sound", sound.checked ? "on" : "off");
  });
  document.getElementById("try-sound").addEventListener("click", workshopDevice.chime);

  notes.disabled = !mayNotify();
  document.getElementById("no-notification").hidden = mayNotify();
  notes.checked =
    mayNotify() &&
    Notification.permission === "granted" &&
    workshopDevice.kept("tell-notification", "off") === "on";
  notes.addEventListener("change", async () => {
    const wanted = notes.checked;
    const allowed = wanted && (await Notification.requestPermission()) === "granted";
    workshopDevice.keep("tell-notification", allowed ? "on" : "off");
    notes.checked = allowed;
    told.textContent = wanted && !allowed ? "The browser does not allow it: see its settings." : "";
  });

  for (const field of document.querySelectorAll("[data-kept]")) {
    field.value = workshopDevice.kept(field.id, field.value);
    field.addEventListener("change", () => {
      const fits = field.checkValidity();
      field.setAttribute("aria-invalid", String(!fits));
      told.textContent = fits ? "Kept." : `Write ${field.min} to ${field.max} seconds.`;
      if (fits) {
        workshopDevice.keep(field.id, field.value);
      }
    });
  }
});
