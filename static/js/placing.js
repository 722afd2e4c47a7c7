/* Decals dragged over their panel: where one is let go, its form is filled in and sent. */
"use strict";

{
  let drag = null;

  /* A place on the screen in the drawing's own millimetres. */
  function inDrawing(picture, event) {
    const place = new DOMPoint(event.clientX, event.clientY);
    return place.matrixTransform(picture.getScreenCTM().inverse());
  }

  function makeDraggable() {
    for (const picture of document.querySelectorAll("svg[data-panel]")) {
      picture.classList.add("draggable");
    }
  }

  /* A finger on a decal drags it; anywhere else it pushes the page. */
  function holdThePage(event) {
    if (event.target.closest?.(".draggable [data-decal]")) {
      event.preventDefault();
    }
  }

  document.addEventListener("touchstart", holdThePage, { passive: false });

  document.addEventListener("pointerdown", (event) => {
    const decal = event.target.closest?.(".draggable [data-decal]");
    if (!decal || event.button !== 0) {
      return;
    }
    const picture = decal.closest("svg");
    drag = { decal, picture, from: inDrawing(picture, event), by: { x: 0, y: 0 } };
    decal.classList.add("dragged");
    decal.setPointerCapture(event.pointerId);
    event.preventDefault();
  });

  document.addEventListener("pointermove", (event) => {
    if (drag) {
      const now = inDrawing(drag.picture, event);
      drag.by = { x: now.x - drag.from.x, y: now.y - drag.from.y };
      drag.decal.setAttribute("transform", `translate(${drag.by.x} ${drag.by.y})`);
    }
  });

  document.addEventListener("pointerup", () => {
    if (!drag) {
      return;
    }
    const { decal, by } = drag;
    drag = null;
    decal.classList.remove("dragged");
    const form = document.getElementById(`place-${decal.dataset.decal}`);
    if (form && Math.hypot(by.x, by.y) > 0.05) {
      /* Half a tenth of a millimetre is finer than a hand lays; inches have two decimals more. */
      const unit = Number(form.dataset.unit);
      const moved = (field, by_mm) => {
        field.value = (Number(field.value) + by_mm / unit).toFixed(unit > 1 ? 3 : 1);
      };
      moved(form.elements.x_mm, by.x);
      moved(form.elements.y_mm, -by.y);
      form.requestSubmit();
    } else {
      decal.removeAttribute("transform");
    }
  });

  document.addEventListener("pointercancel", () => {
    drag?.decal.removeAttribute("transform");
    drag = null;
  });

  document.addEventListener("DOMContentLoaded", makeDraggable);
  document.addEventListener("htmx:afterSettle", () => {
    makeDraggable();
    document.querySelector('#placing [aria-invalid="true"]')?.focus();
  });
}
