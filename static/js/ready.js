/* Ready now without looking: a sound or a notification, where this device was asked to. */
"use strict";

document.addEventListener("bench:ready", (event) => {
  if (workshopDevice.kept("tell-sound", "off") === "on") {
    workshopDevice.chime();
  }
  const allowed = "Notification" in window && Notification.permission === "granted";
  if (allowed && workshopDevice.kept("tell-notification", "off") === "on") {
    try {
      new Notification(event.detail, { tag: "ready" });
    } catch {
      /* Some telephones allow them to installed programs alone: the title still counts. */
    }
  }
});
