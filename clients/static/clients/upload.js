// Says before a film is sent that it is too large, instead of after an hour.
document.addEventListener("change", (event) => {
  const form = event.target.closest("form[data-largest]");
  if (!form || event.target.type !== "file") return;
  const largest = Number(form.dataset.largest);
  const isLarge = [...event.target.files].some((file) => file.size > largest);
  event.target.setCustomValidity(
    isLarge ? `Up to ${Math.round(largest / 1e6)} MB may be sent. Give the path of a larger film.` : "",
  );
  event.target.reportValidity();
});
