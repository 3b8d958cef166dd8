// Sends pictures one file at a time, two side by side: from a dropped folder or picked on a phone.
// Asks for each file's hash first, so that nothing is sent twice after a lost connection.

import { sha256 } from "./sha256.js";

const AT_ONCE = 2;
const RETRY_MS = 5000;
const REFRESH_MS = 3000;
const IGNORED = new Set(["thumbs.db", "desktop.ini"]);

const zone = document.getElementById("upload");
const form = zone.querySelector("form");
const input = form.querySelector("input[type=file]");
const bar = zone.querySelector("progress");
const said = zone.querySelector(".sending-said");
const pauseButton = zone.querySelector("[data-pause]");
const refusedList = zone.querySelector(".refused");
const token = form.querySelector("[name=csrfmiddlewaretoken]").value;

let waiting = [];
let working = 0;
let paused = false;
let counts = { of: 0, new: 0, known: 0, refused: 0 };
let lastRefresh = 0;

zone.querySelector(".drop-hint").hidden = false;

function add(files) {
  const wanted = files.filter(
    (file) => !file.name.startsWith(".") && !IGNORED.has(file.name.toLowerCase()),
  );
  const byNumber = new Intl.Collator("en", { numeric: true });
  wanted.sort((one, other) => byNumber.compare(one.name, other.name));
  if (!wanted.length) return;
  if (!working && !waiting.length) counts = { of: 0, new: 0, known: 0, refused: 0 };
  counts.of += wanted.length;
  waiting.push(...wanted);
  zone.querySelector(".sending").hidden = false;
  paused = false;
  work();
}

function work() {
  while (!paused && working < AT_ONCE && waiting.length) send(waiting.shift());
  tell();
}

async function send(file) {
  working += 1;
  try {
    await sendOnce(file);
  } catch {
    waiting.unshift(file); // nothing arrived: it goes first when the connection is back
    pauseUntilBack();
  }
  working -= 1;
  if (!working && !waiting.length) finish();
  else work();
}

async function sendOnce(file) {
  let hash;
  try {
    hash = await sha256(file);
  } catch {
    refuse(`${file.name} could not be read: it was moved or changed. Choose it again.`);
    return;
  }
  const asked = await fetch(`${zone.dataset.known}?sha256=${hash}`);
  if (!asked.ok) throw new Error("no answer");
  if ((await asked.json()).known) {
    counts.known += 1;
    return;
  }
  const body = new FormData();
  body.append("pictures", file, file.name);
  const headers = { Accept: "application/json", "X-CSRFToken": token };
  const response = await fetch(zone.dataset.add, { method: "POST", body, headers });
  if (response.status >= 500 || !isJson(response)) throw new Error("no answer");
  const answer = await response.json();
  counts.new += answer.new ?? 0;
  counts.known += answer.known ?? 0;
  answer.refused?.forEach(refuse);
  answer.said?.forEach(note);
  refresh();
}

function isJson(response) {
  return (response.headers.get("Content-Type") ?? "").startsWith("application/json");
}

function refuse(sentence) {
  counts.refused += 1;
  note(sentence);
}

function note(sentence) {
  const line = document.createElement("li");
  line.textContent = sentence;
  refusedList.append(line);
  refusedList.hidden = false;
}

function pauseUntilBack() {
  if (paused) return;
  setPaused(true);
  said.textContent = "The connection is lost. Sending goes on by itself when it is back.";
  setTimeout(() => paused && setPaused(false), RETRY_MS);
}

function setPaused(wanted) {
  paused = wanted;
  pauseButton.textContent = paused ? "Go on" : "Pause";
  if (!paused) work();
}

function tell() {
  const done = counts.new + counts.known + counts.refused;
  bar.max = counts.of || 1;
  bar.value = done;
  if (paused && waiting.length) return;
  const parts = [`${done} of ${counts.of}`];
  if (counts.known) parts.push(`${counts.known} were in already`);
  if (counts.refused) parts.push(`${counts.refused} could not be used`);
  said.textContent = parts.join(", ");
  pauseButton.hidden = done === counts.of;
}

function refresh() {
  if (performance.now() - lastRefresh < REFRESH_MS) return;
  lastRefresh = performance.now();
  htmx.trigger("#picture-sheet", "grown");
}

async function finish() {
  tell();
  said.textContent += ". Judging the whole shot …";
  await htmx.ajax("POST", zone.dataset.judge, { target: "#picture-sheet", swap: "outerHTML" });
  tell();
  said.textContent += ". All judged.";
}

async function filesOf(entry) {
  if (entry.isFile) return [await new Promise((done, fail) => entry.file(done, fail))];
  const reader = entry.createReader();
  const found = [];
  for (;;) {
    const some = await new Promise((done, fail) => reader.readEntries(done, fail));
    if (!some.length) return found;
    for (const inside of some) if (inside.isFile) found.push(...(await filesOf(inside)));
  }
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  add([...input.files]);
  input.value = "";
});

zone.addEventListener("dragover", (event) => {
  event.preventDefault();
  zone.classList.add("over");
});

zone.addEventListener("dragleave", () => zone.classList.remove("over"));

zone.addEventListener("drop", async (event) => {
  event.preventDefault();
  zone.classList.remove("over");
  const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.());
  const files = [...event.dataTransfer.files];
  const folders = entries.filter((entry) => entry?.isDirectory);
  if (!folders.length) add(files);
  for (const folder of folders) add(await filesOf(folder));
});

pauseButton.addEventListener("click", () => setPaused(!paused));
window.addEventListener("online", () => paused && setPaused(false));
window.addEventListener("beforeunload", (event) => {
  if (working || waiting.length) event.preventDefault();
});

// A ring on a strip leads to its picture.
document.addEventListener("click", (event) => {
  const mark = event.target.closest?.("[data-href]");
  if (mark) window.location.assign(mark.dataset.href);
});
