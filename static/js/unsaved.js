/* What was typed is not lost unasked: whoever leaves a form half filled in is warned. */
"use strict";

{
  const TYPED =
    "textarea, select, input:not([type=hidden]):not([type=checkbox]):not([type=radio]):not([type=search]):not([type=password])";
  const touched = new WeakSet();
  const sent = new WeakSet();

  function differs(field) {
    if (field.type === "file") {
      return field.files.length > 0;
    }
    if (field.matches("select")) {
      const usual = [...field.options].find((option) => option.defaultSelected) ?? field.options[0];
      return usual !== undefined && !usual.selected;
    }
    return field.value !== field.defaultValue || field.validity.badInput;
  }

  /* A form that came back refused holds what was typed as if it had always stood there. */
  function isUnsaved(form) {
    if (form.method !== "post" || sent.has(form)) {
      return false;
    }
    const typed = [...form.elements].filter((field) => field.matches(TYPED) && !field.readOnly);
    const refused = typed.length > 0 && form.querySelector('[aria-invalid="true"]') !== null;
    return refused || (touched.has(form) && typed.some(differs));
  }

  for (const name of ["input", "change"]) {
    document.addEventListener(name, (event) => {
      const form = event.target.form;
      if (form && event.target.matches(TYPED)) {
        touched.add(form);
        sent.delete(form);
      }
    });
  }

  /* Sent is on its way; whoever sends by script says so itself when it did not arrive. */
  document.addEventListener("submit", (event) => sent.add(event.target));

  for (const name of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
    document.addEventListener(name, (event) => {
      const form = event.target.closest?.("form");
      if (form) {
        sent.delete(form);
      }
    });
  }

  window.addEventListener("pageshow", () => {
    for (const form of document.forms) {
      sent.delete(form);
    }
  });

  window.addEventListener("beforeunload", (event) => {
    if ([...document.forms].some(isUnsaved)) {
      event.preventDefault();
    }
  });
}
