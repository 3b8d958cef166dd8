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

// How much of a film has left the browser; a large one takes an hour on a slow line.
document.addEventListener("htmx:xhr:progress", (event) => {
  const sending = event.target.querySelector?.("[data-sending]");
  if (!sending || !event.detail.lengthComputable) return;
  const { loaded, total } = event.detail;
  const inMegabytes = (bytes) => (bytes / 1e6).toFixed(1);
  sending.hidden = false;
  sending.querySelector("progress").value = loaded / total;
  sending.querySelector("span").textContent = `${inMegabytes(loaded)} of ${inMegabytes(total)} MB`;
});

document.addEventListener("htmx:afterRequest", (event) => {
  const sending = event.target.querySelector?.("[data-sending]");
  if (sending) sending.hidden = true;
});
