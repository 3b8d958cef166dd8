// Plays a shot at its rate: each picture stays for its frames. Stepped, looped, and with the
// picture before laid over.

const player = document.querySelector(".player");
const now = player.querySelector(".now");
const before = player.querySelector(".before");
const said = player.querySelector(".playing-said");
const range = player.querySelector("#at");
const loop = player.querySelector("#loop");
const over = player.querySelector("#over");
const playButton = player.querySelector("[data-act=play]");

const AHEAD = 72; // pictures; some seconds of play

let frames = [];
let rate = 24;
let at = 0;
let playing = false;
let shownSince = 0;

function show(index) {
  at = (index + frames.length) % frames.length;
  now.src = frames[at].src;
  now.alt = `Picture ${frames[at].number}`;
  before.hidden = !over.checked || at === 0;
  if (!before.hidden) before.src = frames[at - 1].src;
  range.value = at + 1;
  const held = frames[at].frames === 1 ? "1 frame" : `${frames[at].frames} frames`;
  said.textContent = `Picture ${frames[at].number}, ${at + 1} of ${frames.length}, ${held}`;
  makeReady();
}

// The next pictures are there before their turn; all of a long shot at once would hold up the first.
function makeReady() {
  for (let ahead = 1; ahead <= Math.min(AHEAD, frames.length); ahead += 1) {
    const frame = frames[(at + ahead) % frames.length];
    frame.ready ??= Object.assign(new Image(), { src: frame.src });
  }
}

function setPlaying(wanted) {
  playing = wanted;
  playButton.textContent = playing ? "Pause" : "Play";
  if (playing) {
    if (at === frames.length - 1) show(0);
    shownSince = performance.now();
    requestAnimationFrame(tick);
  }
}

// Goes on from when the picture should have changed, so that no time is lost over the shot.
function tick(time) {
  if (!playing) return;
  let next = at;
  let length = (frames[next].frames / rate) * 1000;
  while (time - shownSince >= length) {
    shownSince += length;
    next += 1;
    if (next === frames.length && !loop.checked) {
      setPlaying(false);
      break;
    }
    next %= frames.length;
    length = (frames[next].frames / rate) * 1000;
  }
  if (playing && next !== at) show(next);
  else if (!playing) show(frames.length - 1);
  if (playing) requestAnimationFrame(tick);
}

function step(by) {
  setPlaying(false);
  show(at + by);
}

const acts = { play: () => setPlaying(!playing), back: () => step(-1), on: () => step(1) };
player.addEventListener("click", (event) => acts[event.target.dataset.act]?.());
range.addEventListener("input", () => {
  setPlaying(false);
  show(Number(range.value) - 1);
});
over.addEventListener("change", () => show(at));

const answer = await fetch(player.dataset.frames);
({ rate, frames } = await answer.json());
player.hidden = false;
if (frames.length) {
  range.max = frames.length;
  show(0);
} else {
  player.textContent = "No kept pictures to play.";
}
