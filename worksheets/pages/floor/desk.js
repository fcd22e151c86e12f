// A page of one job that the shop's computer works out whole: puts each fresh <main> in the place of the one before,
// sends what a hand does, asks before it, and shows nothing that is to be done by while the line is away.
// What comes is the page's own template, escaped; no script in it can run (the page's policy forbids it).
const SILENT_MS = 1600, LOOK_MS = 100, AGAIN_MS = 2000, SAVED_MS = 400;
const body = document.body, at = (id) => document.getElementById(id), words = at("words").dataset;
const put = (element, text) => { text = String(text ?? ""); if (element.textContent !== text) element.textContent = text; };
const listeners = [], answered = [];
export const onMain = (use) => listeners.push(use); // after each fresh <main>
export const onDone = (use) => answered.push(use); // after each answer, with what was sent
export const isLive = () => body.dataset.line === "up";
const hear = (text) => { if (text) put(at("hear"), text); };

// ---- What came of it, and what is not on the disk yet
export function say(text) {
  put(at("said-text"), text);
  at("said").hidden = !text;
  hear(text);
}
const KEPT = `truethrow-unsent-${body.dataset.page}:${body.dataset.job}`;
const kept = () => { try { return JSON.parse(localStorage.getItem(KEPT)); } catch { return null; } };
const keep = (one) => { try { if (one) localStorage.setItem(KEPT, JSON.stringify(one)); else localStorage.removeItem(KEPT); } catch { /* it is sent all the same */ } };
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const raw = crypto.getRandomValues(new Uint8Array(16)); // a shop's network without TLS has no randomUUID
  raw[6] = raw[6] & 15 | 64; raw[8] = raw[8] & 63 | 128;
  return [...raw].map((one, i) => ([4, 6, 8, 10].includes(i) ? "-" : "") + one.toString(16).padStart(2, "0")).join("");
}
let sending = false;
// post: what a hand did; asked: the sentence that it said yes to, which is kept with it until it is answered.
export async function send(post, asked = "") {
  if (sending) return null;
  if (asked && kept() && kept().post.id !== post.id) { say(words.anotherWaits); return null; }
  sending = true;
  const full = { typed: "", why: "", of: "", step: "", saw: Number(document.querySelector("main").dataset.head || 0), ...post };
  full.id ??= newId();
  if (asked) keep({ post: full, asked, at: Date.now() });
  show();
  try {
    const answer = await fetch(body.dataset.do, {
      method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(full), credentials: "same-origin",
    });
    const done = await answer.json().catch(() => null);
    if (answer.status !== 200 || !done) {
      say(done?.said || (answer.status === 401 || answer.status === 403 ? words.turnedOut : words.notSent));
      return null;
    }
    if (kept()?.post.id === full.id) keep(null);
    say(done.question ? "" : done.said);
    at("said").dataset.ok = !done.ok ? "no" : done.is_warning ? "look" : "yes";
    for (const use of answered) use(full, done);
    if (done.question) ask(done.question.ask, done.question.answers, (answer) =>
      answer.action === "no" || send({ ...full, action: answer.action, typed: answer.typed ?? full.typed, why: answer.why, of: done.question.of }, done.question.ask), done.question.who);
    return done;
  } catch {
    say(asked ? "" : words.notSent);
    return null;
  } finally {
    sending = false;
    show();
  }
}
function flush() {
  const one = kept();
  if (one && isLive() && !sending && at("question").hidden) send(one.post, one.asked);
}
setInterval(flush, 1000);
at("drop").addEventListener("click", () => { keep(null); show(); });

// ---- A question: only a person can tell
// who: whose initials are typed with the one answer, and why; empty where nothing is.
let replied = null;
export function ask(text, answers, use, who = "") {
  const free = at("free");
  put(at("asked"), text);
  free.hidden = !who;
  free.reset();
  put(at("free-who"), who);
  if (who) put(free.querySelector("button"), answers[0].text);
  free.onsubmit = (event) => {
    event.preventDefault();
    const typed = free.elements.who.value.trim(), why = free.elements.why.value.trim();
    if (!typed || !why) return;
    close();
    use({ ...answers[0], typed, why });
  };
  at("answers").replaceChildren(...(who ? [] : answers).map((answer) => {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.answer = answer.action;
    put(button, answer.text);
    button.addEventListener("click", () => { close(); use(answer); });
    return button;
  }));
  replied = use;
  at("question").hidden = false;
  at("asked").focus({ preventScroll: true });
  hear(text);
}
function close() { at("question").hidden = true; replied = null; }
at("leave").addEventListener("click", close);
const yesOrNo = () => [{ action: "yes", text: words.yes }, { action: "no", text: words.no }];

// ---- The page
function show() {
  const one = kept();
  at("unsent").hidden = !one || isLive() && Date.now() - one.at < SAVED_MS;
  if (one) put(at("unsent-asked"), one.asked);
  for (const button of document.querySelectorAll("main [data-do]")) button.disabled = sending || !isLive() || one !== null;
}
let last = "";
function exchange(html) {
  if (html !== last) {
    const fresh = new DOMParser().parseFromString(html, "text/html").querySelector("main");
    const open = [...document.querySelectorAll("main details[open][id]")].map((found) => found.id);
    const before = document.querySelector("main"), isAnother = before.dataset.stage !== fresh.dataset.stage;
    before.replaceWith(document.adoptNode(fresh));
    if (isAnother) scrollTo(0, 0); // what to do now stands first
    for (const id of open) if (at(id)) at(id).open = true;
    last = html;
    for (const use of listeners) use();
  }
  show();
}
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("main button[data-do]");
  if (!button || button.disabled) return;
  const { do: action, step = "", typed = "", ask: text = "" } = button.dataset, post = { action, step, typed };
  if (text) ask(text, yesOrNo(), (answer) => answer.action === "no" || send(post, text));
  else send(post);
});

// ---- The line
let heard = Date.now(), source = null, tried = 0;
function setLine(now) {
  if (body.dataset.line === now) return;
  if (now !== "wait") hear(now === "lost" ? words.lost : words.up);
  body.dataset.line = now;
  if (now === "lost") close(); // what was asked is not to be answered by what stood there before
  show();
}
function listen() {
  source?.close();
  tried = Date.now();
  source = new EventSource(body.dataset.events);
  for (const name of ["state", "beat"]) source.addEventListener(name, (event) => {
    if (event.target !== source) return;
    heard = Date.now();
    if (name === "state") { exchange(JSON.parse(event.data).main); setLine("up"); }
    else if (last) setLine("up");
  });
}
function look() {
  const now = Date.now();
  if (Math.abs(now - heard) > SILENT_MS) {
    setLine("lost");
    if (Math.abs(now - tried) > AGAIN_MS || source.readyState === EventSource.CLOSED && now - tried > 500) listen();
  }
  if (kept()) show();
}
listen();
show();
setInterval(look, LOOK_MS);
document.addEventListener("visibilitychange", look);
addEventListener("pagehide", () => source?.close());
addEventListener("pageshow", (event) => { if (event.persisted) { setLine("wait"); heard = Date.now(); listen(); } });
const stayOn = () => { if (!document.hidden) navigator.wakeLock?.request("screen").catch(() => {}); };
addEventListener("pointerdown", stayOn);
