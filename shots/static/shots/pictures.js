// Sends pictures one file at a time, two side by side: from dropped folders or picked on a phone.
// Asks for each file's hash first, so that nothing is sent twice after a lost connection.

import { sha256 } from "./sha256.js";

const AT_ONCE = 2;
const RETRY_MS = 5000;
const REFRESH_MS = 3000;
const IGNORED = new Set(["thumbs.db", "desktop.ini"]);
const LOST = "The connection is lost. Sending goes on by itself when it is back.";
const SIGNED_OUT =
  "You are signed out. Sign in, open this page again and choose the pictures again: " +
  "those that are in are not sent twice.";

const zone = document.getElementById("upload");
const form = zone.querySelector("form");
const input = form.querySelector("input[type=file]");
const bar = zone.querySelector("progress");
const said = zone.querySelector(".sending-said");
const pauseButton = zone.querySelector("[data-pause]");
const notes = zone.querySelector(".refused");
const token = form.querySelector("[name=csrfmiddlewaretoken]").value;

// Where pictures go: on a shot's page to that shot, on the list of shots by their folder's name.
const own = zone.dataset.sheet;
const sheets = new Map(
  [...document.querySelectorAll("[data-shot]")].map((row) => [
    row.dataset.shot.toLowerCase(),
    row.dataset.sheet,
  ]),
);

let waiting = []; // files with the address of their shot's pictures
const unjudged = new Set(); // addresses of shots that got pictures
let working = 0;
let judging = false;
let paused = false; // by the person
let lost = ""; // why sending stopped by itself
let counts = { of: 0, new: 0, known: 0, refused: 0 };
let lastRefresh = -Infinity;
let refreshing = Promise.resolve(); // one after the other, so that the last one stays

zone.hidden = false;
zone.querySelector(".drop-hint").hidden = false;

function pictures(files) {
  const byNumber = new Intl.Collator("en", { numeric: true });
  return files
    .filter((file) => !file.name.startsWith(".") && !IGNORED.has(file.name.toLowerCase()))
    .sort((one, other) => byNumber.compare(one.name, other.name));
}

// What was said of the pictures before goes with the next ones.
function beginAnew() {
  if (working || waiting.length) return;
  counts = { of: 0, new: 0, known: 0, refused: 0 };
  notes.replaceChildren();
  notes.hidden = true;
}

function add(files, sheet) {
  const wanted = pictures(files);
  if (!wanted.length) return;
  counts.of += wanted.length;
  waiting.push(...wanted.map((file) => ({ file, sheet })));
  unjudged.add(sheet);
  zone.querySelector(".sending").hidden = false;
  paused = false;
  work();
}

function addFolder(name, files) {
  const sheet = sheets.get(name.toLowerCase());
  if (sheet) add(files, sheet);
  else if (pictures(files).length) {
    const why = own ? "this shot has another code" : "no shot has that code";
    note(`${name}: ${why}, so its folder was left alone.`);
  }
}

function work() {
  if (!paused && !lost) {
    while (working < AT_ONCE && waiting.length) send(waiting.shift());
    if (!working && !judging && unjudged.size) judge();
  }
  tell();
}

async function send(one) {
  working += 1;
  try {
    await sendOnce(one);
  } catch (error) {
    waiting.unshift(one); // nothing arrived: it goes first when the connection is back
    stop(error);
  }
  working -= 1;
  work();
}

async function sendOnce({ file, sheet }) {
  let hash;
  try {
    hash = await sha256(file);
  } catch {
    counts.refused += 1;
    note(`${file.name} could not be read: it was moved or changed. Choose it again.`);
    return;
  }
  if ((await ask(`${sheet}known/?sha256=${hash}`)).known) {
    counts.known += 1;
    return;
  }
  const body = new FormData();
  body.append("pictures", file, file.name);
  const answer = await ask(`${sheet}add/`, body);
  counts.new += answer.new ?? 0;
  counts.known += answer.known ?? 0;
  counts.refused += answer.refused?.length ?? 0;
  answer.refused?.forEach(note);
  answer.said?.forEach(note);
  refresh();
}

async function judge() {
  judging = true;
  tell();
  try {
    for (const sheet of unjudged) {
      const answer = await ask(`${sheet}judge/`, new FormData());
      answer.said?.forEach(note);
      if (answer.said) paused = true; // there is room to make first
      else if (!waiting.length && !working) unjudged.delete(sheet);
    }
  } catch (error) {
    stop(error);
  }
  judging = false;
  lastRefresh = -Infinity;
  refresh();
  work();
}

async function ask(address, body) {
  const headers = { Accept: "application/json", "X-CSRFToken": token };
  const response = await fetch(address, { method: body ? "POST" : "GET", body, headers });
  if (response.redirected || response.status === 403) throw new Error(SIGNED_OUT);
  const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json");
  if (response.status >= 500 || !isJson) throw new Error(LOST);
  return response.json();
}

function note(sentence) {
  const line = document.createElement("li");
  line.textContent = sentence;
  notes.append(line);
  notes.hidden = false;
}

function stop(error) {
  if (lost) return;
  lost = error.message === SIGNED_OUT ? SIGNED_OUT : LOST;
  if (lost === LOST) setTimeout(goOn, RETRY_MS);
}

function goOn() {
  lost = "";
  work();
}

function tell() {
  const done = counts.new + counts.known + counts.refused;
  bar.max = counts.of || 1;
  bar.value = done;
  const parts = [`${done} of ${counts.of}`];
  if (counts.known) parts.push(`${counts.known} ${counts.known === 1 ? "was" : "were"} in already`);
  if (counts.refused) parts.push(`${counts.refused} could not be used`);
  const end = judging ? "Judging …" : unjudged.size ? "" : "All judged.";
  const how = lost || (paused ? "Paused." : end);
  said.textContent = `${parts.join(", ")}. ${how}`.trim();
  pauseButton.textContent = paused || lost ? "Go on" : "Pause";
  pauseButton.hidden = !unjudged.size;
}

function refresh() {
  if (performance.now() - lastRefresh < REFRESH_MS) return;
  lastRefresh = performance.now();
  refreshing = refreshing.then(fetchGrown).catch(() => {}); // lost: the next one brings it
}

async function fetchGrown() {
  const part = document.querySelector("[data-grown]");
  await htmx.ajax("GET", part.dataset.grown, { target: part, swap: "outerHTML" });
}

async function inside(folder) {
  const reader = folder.createReader();
  const files = [];
  const folders = [];
  for (;;) {
    const some = await new Promise((done, fail) => reader.readEntries(done, fail));
    if (!some.length) return { files: await Promise.all(files), folders };
    for (const one of some) {
      if (one.isDirectory) folders.push(one);
      else files.push(new Promise((done, fail) => one.file(done, fail)));
    }
  }
}

// A folder of one shot, or a folder of folders named by shots.
async function addDropped(folder) {
  const { files, folders } = await inside(folder);
  if (own && pictures(files).length) {
    add(files, own);
    return;
  }
  addFolder(folder.name, files);
  for (const one of folders) addFolder(one.name, (await inside(one)).files);
}

// Picked folders come as files with paths.
function addFiles(files) {
  if (own) {
    add(files, own);
    return;
  }
  for (const [name, together] of Map.groupBy(files, folderOf)) {
    if (name) addFolder(name, together);
    else note("Single pictures go on the page of their shot; here, give folders named by shot codes.");
  }
}

const folderOf = (file) => file.webkitRelativePath.split("/").at(-2);

form.addEventListener("submit", (event) => {
  event.preventDefault();
  beginAnew();
  addFiles([...input.files]);
  input.value = "";
});

zone.addEventListener("dragover", (event) => {
  event.preventDefault();
  zone.classList.add("over");
});

zone.addEventListener("dragleave", () => zone.classList.remove("over"));

zone.addEventListener("drop", (event) => {
  event.preventDefault();
  zone.classList.remove("over");
  beginAnew();
  // Entries and files are there only now; a folder among the files is no picture.
  const items = [...event.dataTransfer.items].filter((item) => item.kind === "file");
  const entries = items.map((item) => item.webkitGetAsEntry?.());
  const files = [...event.dataTransfer.files].filter((_, n) => !entries[n]?.isDirectory);
  if (files.length) addFiles(files);
  for (const folder of entries.filter((entry) => entry?.isDirectory))
    addDropped(folder).catch(() => note(`${folder.name} could not be read. Drop it again.`));
});

pauseButton.addEventListener("click", () => {
  paused = !(paused || lost);
  goOn();
});
window.addEventListener("online", () => lost === LOST && goOn());
window.addEventListener("beforeunload", (event) => {
  if (working || waiting.length) event.preventDefault();
});

// A ring on a strip leads to its picture.
document.addEventListener("click", (event) => {
  const mark = event.target.closest?.("[data-href]");
  if (mark) window.location.assign(mark.dataset.href);
});
