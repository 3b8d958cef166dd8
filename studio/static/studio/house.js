// What plain links and forms cannot do. Every page works without it.

// A stepper's − and + buttons change the number field between them, and tell it to save.
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-step]");
  if (!button) return;
  const field = document.getElementById(button.dataset.for);
  const least = Number(field.min || 0);
  field.value = Math.max(least, Number(field.value || 0) + Number(button.dataset.step));
  field.dispatchEvent(new Event("change", { bubbles: true }));
  event.preventDefault();
});
