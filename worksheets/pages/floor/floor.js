// The shop's screens: shows what the events say, sends what a hand does, keeps what is typed while the line is away.
// Texts are set as text, never as markup. Nothing is computed here: every figure and every sentence comes ready.
"use strict";
(() => {
  const SILENT_MS = 1600, SAVED_MS = 400, LOOK_MS = 100, AGAIN_MS = 2000, ANSWER_MS = 8000, TAKEN_MS = 900, SIGN_MS = 1000, REFUSED_MS = 2600;
  const body = document.body, at = (id) => document.getElementById(id);
  const page = body.dataset.page, words = at("words")?.dataset ?? {};

  // ---- What is shown, filled into the page
  const value = (data, path) => path === "" ? data : path.split(".").reduce((one, name) => one?.[name], data);
  const put = (element, text) => { text = String(text ?? ""); if (element.textContent !== text) element.textContent = text; };
  const isThere = (found) => Array.isArray(found) ? found.length > 0 : Boolean(found);
  const flag = (name, is) => { if (is) body.setAttribute(name, ""); else body.removeAttribute(name); };
  const lists = new WeakMap();

  function fill(data, makeItem) {
    for (const one of document.querySelectorAll("[data-text]")) put(one, value(data, one.dataset.text));
    for (const one of document.querySelectorAll("[data-when]")) one.hidden = !isThere(value(data, one.dataset.when));
    for (const one of document.querySelectorAll("[data-unless]")) one.hidden = isThere(value(data, one.dataset.unless));
    for (const list of document.querySelectorAll("[data-each]")) fillList(list, data, makeItem);
  }
  function fillList(list, data, makeItem) {
    const items = value(data, list.dataset.each) ?? [], stamp = JSON.stringify([items, data.column, data.late]);
    if (lists.get(list) === stamp) return;
    lists.set(list, stamp);
    const template = list.querySelector("template");
    const made = items.map((item) => {
      const copy = template.content.cloneNode(true);
      for (const one of copy.querySelectorAll("[data-item]")) put(one, value(item, one.dataset.item));
      for (const one of copy.querySelectorAll("[data-item-when]")) one.hidden = !isThere(value(item, one.dataset.itemWhen));
      makeItem?.(list, copy, item);
      return copy;
    });
    list.replaceChildren(...made, template);
  }
  const wide = (text) => {
    let signs = 0;
    for (const sign of text) signs += /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6]/.test(sign) ? 2 : 1;
    return signs <= 9 ? "s" : signs <= 13 ? "m" : signs <= 22 ? "l" : signs <= 44 ? "xl" : "xxl";
  };
  const hear = (text) => { if (at("hear") && text) put(at("hear"), text); };

  // ---- The line: events, and whether any came lately
  // Until the first event nothing is live: a page may come out of a browser's memory.
  let heard = Date.now(), source = null, tried = 0, line = "wait", isFirst = true;
  const isLive = () => line === "up", setLine = (now) => { line = body.dataset.line = now; };
  function listen(take) {
    source?.close();
    tried = Date.now();
    source = new EventSource(body.dataset.events + (take.asks?.() ?? ""));
    isFirst = true;
    const came = (event, use) => {
      heard = Date.now();
      const was = line;
      if (!isLive()) { setLine("up"); if (was === "lost") hear(words.up); take.up?.(); }
      use?.(JSON.parse(event.data));
    };
    // What was asked for may have changed since: a browser by itself would ask as before.
    source.addEventListener("error", (event) => { if (take.asks) event.target.close(); });
    for (const name of ["state", "board", "live", "beat", "refused"])
      source.addEventListener(name, (event) => { if (event.target === source) came(event, take[name]); });
  }
  // A line may be gone because this device was turned out: its page says that, and how to come in again.
  const isStillIn = () => fetch(location.href, { credentials: "same-origin", cache: "no-store" })
    .then((answer) => { if (answer.status === 401 || answer.status === 403) location.reload(); }).catch(() => {});
  function watch(take) {
    let asked = 0;
    listen(take);
    const look = () => {
      const now = Date.now();
      if (Math.abs(now - heard) > SILENT_MS) {
        if (line !== "lost") { setLine("lost"); hear(words.lost); take.lost?.(); }
        if (Math.abs(now - asked) > AGAIN_MS) { asked = now; isStillIn(); }
        if (Math.abs(now - tried) > AGAIN_MS) { listen(take); return; }
      }
      if (source.readyState === EventSource.CLOSED && Math.abs(now - tried) > 500) listen(take);
    };
    setInterval(look, LOOK_MS);
    document.addEventListener("visibilitychange", look);
    addEventListener("pagehide", () => source?.close());
    addEventListener("pageshow", (event) => { if (event.persisted) { setLine("wait"); heard = Date.now(); take.lost?.(); listen(take); } });
  }

  // ---- What is typed and not on the disk yet: one reading a bench, kept in this browser until it is answered
  const KEPT = "truethrow-unsent:";
  const kept = (job) => { try { return JSON.parse(localStorage.getItem(KEPT + job)); } catch { return null; } };
  const keep = (job, one) => {
    try { if (one) localStorage.setItem(KEPT + job, JSON.stringify(one)); else localStorage.removeItem(KEPT + job); return true; } catch { return false; }
  };
  const newId = () => {
    if (crypto.randomUUID) return crypto.randomUUID();
    const raw = crypto.getRandomValues(new Uint8Array(16)); // a shop's network without TLS has no randomUUID
    raw[6] = raw[6] & 15 | 64; raw[8] = raw[8] & 63 | 128;
    return [...raw].map((one, i) => ([4, 6, 8, 10].includes(i) ? "-" : "") + one.toString(16).padStart(2, "0")).join("");
  };
  function tellUnsentJobs() {
    const jobs = Object.keys(localStorage).filter((name) => name.startsWith(KEPT)).map((name) => name.slice(KEPT.length));
    at("unsent").hidden = !jobs.length;
    at("unsent-jobs").replaceChildren(...jobs.map((job) => {
      const link = document.createElement("a");
      link.className = "button";
      link.href = "/bench/" + encodeURIComponent(job);
      put(link, job);
      return link;
    }));
  }

  if (page === "board") {
    tellUnsentJobs();
    let late = [];
    const makeItem = (list, copy, item) => {
      if (list.id !== "jobs") return;
      copy.querySelector("a").href = "/bench/" + encodeURIComponent(item.job);
      for (const one of copy.querySelectorAll("[data-place]")) one.href = `/${one.dataset.place}/${encodeURIComponent(item.job)}`;
      copy.querySelector("li").classList.toggle("is-blocked", Boolean(item.blocked));
      copy.querySelector(".late").hidden = !late.includes(item.job);
    };
    watch({ board: (data) => { late = data.late; fill(data, makeItem); } });
    return;
  }
  if (page === "no-line") { tellUnsentJobs(); return; }
  if (page !== "bench") return;

  // ---- The bench
  const job = body.dataset.job, device = body.dataset.device;
  let state = JSON.parse(body.dataset.state), typed = "", letter = "", begun = null, question = null, last = state.news.number, sending = false;
  body.removeAttribute("data-state");
  const sheets = { pad: at("pad"), question: at("question"), goes: at("goes") };
  const looksOnly = () => !state.may.length && !state.ended; // a hand may always do something
  const watchesOnly = () => Boolean(state.taker) && state.taker !== device;

  const makeItem = (list, copy, row) => {
    if (list.id !== "rows") return;
    const one = copy.querySelector("li");
    one.classList.toggle("now", row.is_now);
    one.classList.toggle("flagged", Boolean(row.flag));
    put(one.querySelector(".name"), row.name);
    put(one.querySelector(".reads"), row.readings[state.column]);
    put(one.querySelector(".more"), row.more[state.column]);
    if (row.flag) one.querySelector(".mark").append(at("looks").content.cloneNode(true));
    put(one.querySelector(".unseen"), `${row.is_now ? words.now : ""} ${row.flag}`);
  };

  function showLive() {
    const live = isLive() ? state.live : { ...state.live, text: "", said: "" }; // what nobody hears any more is not shown
    for (const one of document.querySelectorAll('[data-text^="live."]')) put(one, value({ live }, one.dataset.text));
    for (const one of at("figure").querySelectorAll("[data-text='live.unit']")) put(one, live.text ? live.unit : "");
    at("figure").dataset.wide = Math.min(10, Math.max(5, live.text.length));
    body.dataset.standing = live.standing;
    flag("data-to-go", live.to_go);
    flag("data-stop", live.stop);
    flag("data-stable", live.stable);
    const says = at("do-now");
    const now = !isLive() ? "type" : live.stop ? "stop" : state.scale !== "live" ? "type" : live.to_go ? "grind" : live.standing;
    put(says, !state.is_part || state.ended || looksOnly() ? "" : says.dataset[now]);
  }
  function show() {
    fill(state, makeItem);
    body.dataset.scale = state.scale;
    flag("data-ended", Boolean(state.ended));
    flag("data-grinding", state.grinding);
    flag("data-turn", state.turn);
    flag("data-unsaved", !state.saved);
    flag("data-check", !state.is_part);
    put(at("note"), state.step_note.toLowerCase() === state.step.toLowerCase() ? "" : state.step_note);
    at("step").dataset.wide = wide(state.step);
    const names = state.rows.flatMap((row) => [row.name, ...row.names]); // of every kind: a row keeps its place
    at("rows").dataset.wide = wide(names.reduce((most, name) => name.length > most.length ? name : most, ""));
    at("watch").hidden = !watchesOnly() && !looksOnly();
    flag("data-looks", looksOnly());
    at("watch").querySelector("button").hidden = !state.may.includes("take-over");
    flag("data-watches", watchesOnly());
    showLive();
    showUnsent();
    showTyped();
    showButtons();
    ask();
  }
  // Nothing moves for what is told. Where it is too much for its room, it has the room of the others, who come back.
  function giveRoom() {
    const told = at("told").getBoundingClientRect(), others = at("others").getBoundingClientRect();
    flag("data-crowded", others.height > 0 && others.left < told.right && told.bottom > others.top + 1);
  }
  const changes = new ResizeObserver(giveRoom);
  for (const one of ["told", "others"]) changes.observe(at(one));
  addEventListener("resize", giveRoom);
  function showButtons() {
    const waits = kept(job) !== null;
    for (const one of document.querySelectorAll(".buttons button")) {
      const what = one.dataset.action;
      one.disabled = !state.may.includes(what) || watchesOnly() || waits && state.is_part || sending || !isLive() && what !== "type";
    }
    for (const one of document.querySelectorAll(".turn")) one.hidden = !state.may.includes(one.dataset.action);
    at("wrong").disabled = !state.may.includes("readings") || watchesOnly() || waits || sending || !isLive();
    sheets.pad.querySelector('[data-key="take"]').disabled = waits && state.is_part || sending;
  }
  function showUnsent() {
    const one = kept(job);
    // A line that is up saves it in a blink; what takes longer is told.
    at("unsent").hidden = one === null || isLive() && Date.now() - one.at < SAVED_MS;
    if (!one) return;
    put(at("unsent-typed"), one.typed);
    put(at("unsent-step"), one.part);
    put(at("unsent-why"), state.ended ? words.unsentEnded : watchesOnly() ? words.unsentElsewhere : words.unsent);
  }
  const say = (text) => {
    for (const one of ["own", "pad-said"]) put(at(one), text); // the pad may lie over the other
    at("pad-said").hidden = !text;
    hear(text);
  };

  function open(name) {
    for (const [one, sheet] of Object.entries(sheets)) sheet.hidden = one !== name;
    if (name) sheets[name].querySelector("[tabindex]")?.focus({ preventScroll: true });
  }
  const isOpen = (name) => !sheets[name].hidden;

  // ---- A sign of life: the server takes from a scale only while its screen is lit, in front, and has drawn which part
  // it is for. A browser that sleeps or hangs gives none. Whose screen took before, when it fell asleep, the server knows.
  let signed = 0;
  const takesHere = () => state.taker === device ? state.scale !== "" : !state.taker && state.may.length > 0;
  const isSeen = () => document.visibilityState === "visible" && isLive() && !isFirst && takesHere();
  function sign() {
    if (!isSeen() || Date.now() - signed < SIGN_MS / 4) return;
    signed = Date.now();
    // The first frame draws what was set; once the second begins, that was seen.
    requestAnimationFrame(() => requestAnimationFrame(() => {
      if (!isSeen()) return;
      const limit = new AbortController(); // an answer that does not come holds none of the few lines of a browser
      setTimeout(() => limit.abort(), 2 * SIGN_MS);
      fetch(body.dataset.alive, {
        method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ step: state.step_id }),
        credentials: "same-origin", signal: limit.signal,
      }).catch(() => {});
    }));
  }
  setInterval(sign, SIGN_MS);
  document.addEventListener("visibilitychange", sign);

  // ---- A question: only a person can tell
  function ask() {
    const now = question ?? state.question;
    if (!now || watchesOnly()) { if (isOpen("question")) open(null); return; }
    if (isOpen("question") && sheets.question.dataset.of === now.of) return;
    sheets.question.dataset.of = now.of;
    put(at("asked"), now.ask);
    at("answers").replaceChildren(...now.answers.map((answer) => {
      const button = document.createElement("button");
      button.type = "button";
      put(button, answer.text);
      button.addEventListener("click", () => reply(now, answer));
      return button;
    }));
    at("free").hidden = !now.free;
    at("free").elements.why.value = "";
    at("leave").hidden = now.answers.some((answer) => answer.action === "no"); // else it has its own
    open("question");
    hear(now.ask);
  }
  function reply(asked, answer, why = answer.why) {
    open(null);
    const one = kept(job);
    send({ action: answer.action, why, of: answer.of || asked.of }, one && one.asks === asked.of ? one : null);
  }
  at("free").addEventListener("submit", (event) => {
    event.preventDefault();
    const why = at("free").elements.why.value.trim(), now = question ?? state.question;
    if (why && now) reply(now, now.answers[0], why);
  });
  at("leave").addEventListener("click", () => { question = null; open(null); });

  // ---- Sending. A reading that was typed is kept first, and let go only by an answer. One that does not come is not
  // waited for: whatever is sent again under its id is done once.
  let given = null, wanted = new URLSearchParams(location.search).get("go") ?? "";
  const giveUp = () => given?.abort();
  async function send(what, one = null) {
    if (sending) return;
    sending = true;
    if (wanted) history.replaceState(null, "", location.pathname);
    wanted = ""; // whatever a hand does first, the part that this page was opened for is not gone to after it
    given = new AbortController();
    const limit = setTimeout(giveUp, ANSWER_MS);
    showButtons();
    try {
      const post = { id: newId(), typed: "", why: "", of: "", step: state.step_id, ...what };
      const answer = await fetch(body.dataset.do, {
        method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(post), credentials: "same-origin", signal: given.signal,
      });
      answered(answer.status, await answer.json().catch(() => null), one);
    } catch {
      if (!one) say(words.noAnswer);
    } finally {
      clearTimeout(limit);
      sending = false;
      showUnsent();
      showButtons();
      ask(); // a yes that did not come through is asked for again
    }
  }
  function answered(status, done, one) {
    if (status !== 200 || !done) { // no answer of the bench: what is kept is kept
      say(done?.said || (status === 401 || status === 403 ? words.turnedOut : words.notUnderstood));
      return;
    }
    question = done.question;
    if (one && !done.question) keep(job, null);
    if (one && done.question) keep(job, { ...one, asks: done.question.of });
    const isTold = done.ok || done.question || (done.state ?? state).messages.includes(done.said);
    say(isTold ? "" : done.said);
    if (done.state && done.state.head >= state.head) take(done.state); else show();
  }
  // What was kept is sent once the bench is heard again, with the same id however often that takes.
  function flush() {
    const one = kept(job);
    if (one && isLive() && !sending && !question && !watchesOnly() && !state.ended) {
      const { id, typed, step } = one;
      send({ id, action: "type", typed, step }, one);
    }
  }
  setInterval(flush, 1000);

  function take(fresh) {
    const news = fresh.news, wasFirst = isFirst, before = state;
    state = fresh;
    isFirst = false;
    if (wasFirst) last = news.number; // what was told while nobody heard is not told again
    if (news.number > last) flash(news);
    last = Math.max(last, news.number);
    const over = question && fresh.answered.find((one) => one.of === question.of);
    if (over) { // another screen has, or the terminal: what it said is told, and nothing is asked any more
      question = null;
      if (!sending) say(over.said);
    }
    show();
    sign();
    if (wanted && state.may.includes("go") && !watchesOnly()) send({ action: "go", typed: wanted });
    if (before.step !== state.step) hear(`${at("do-now").textContent} ${state.step}`);
  }
  // ---- Across the shop: a color, a sign, words and a sound
  let flashing = 0, audio = null;
  function flash(news) {
    at("flash").dataset.what = news.what;
    put(at("flash-said"), news.said);
    at("flash").hidden = false;
    hear(news.said);
    clearTimeout(flashing);
    flashing = setTimeout(() => { at("flash").hidden = true; }, news.what === "taken" ? TAKEN_MS : REFUSED_MS);
    if (state.bell) sound(news.what === "taken" ? [[880, 0, .16]] : [[196, 0, .2], [196, .28, .3]]);
  }
  function sound(tones) {
    if (!audio || audio.state !== "running") return;
    for (const [hertz, after, long] of tones) {
      const tone = audio.createOscillator(), loud = audio.createGain(), start = audio.currentTime + after;
      tone.type = "square";
      tone.frequency.value = hertz;
      loud.gain.setValueAtTime(.25, start);
      loud.gain.exponentialRampToValueAtTime(.001, start + long);
      tone.connect(loud).connect(audio.destination);
      tone.start(start);
      tone.stop(start + long);
    }
  }
  const stayOn = () => navigator.wakeLock?.request("screen").catch(() => {}); // a bench's screen does not go dark
  document.addEventListener("visibilitychange", () => { if (!document.hidden) stayOn(); });
  addEventListener("pointerdown", () => {
    stayOn(); // browsers give no sound before a screen was touched
    if (typeof AudioContext !== "undefined") { audio ??= new AudioContext(); audio.resume(); }
  });

  // ---- Hands
  for (const one of document.querySelectorAll("[data-action]")) one.addEventListener("click", () => {
    const action = one.dataset.action;
    if (action === "type") open("pad");
    else if (action === "go") chooseKind();
    else send({ action });
  });
  // A number is of the part that was asked for when its first digit was typed, whatever is asked for when it is done.
  function begin() { begun ??= { step: state.step_id, part: state.step }; }
  function showTyped() {
    if (!typed && !letter) begun = null;
    put(at("typed"), typed);
    put(at("typed-for"), begun?.part ?? state.step);
  }
  function press(key) {
    if (key === "close") { typed = ""; open(null); }
    else if (key === "rub") typed = typed.slice(0, -1);
    else if (key === "take") takeTyped();
    else if (typed.length < 60) { begin(); typed += key; }
    showTyped();
  }
  function takeTyped() {
    if (!typed || sending) return;
    // It gets its id here, before it is sent.
    const one = { id: newId(), typed, ...begun, at: Date.now() };
    if (kept(job)) { // of another tab of this browser, too
      if (state.is_part) { say(words.anotherWaits); return; }
      typed = ""; // a check of the scale, which what is kept may wait for
      open(null);
      send({ id: one.id, action: "type", typed: one.typed, step: one.step });
      return;
    }
    if (!keep(job, one)) { say(words.notKept); return; } // nowhere to keep it: it stays on the pad
    typed = "";
    open(null);
    setTimeout(showUnsent, SAVED_MS);
    showUnsent();
    showButtons();
    flush();
  }
  for (const one of document.querySelectorAll("[data-key]")) one.addEventListener("click", () => press(one.dataset.key));
  at("drop").addEventListener("click", () => { keep(job, null); question = null; show(); });
  at("stay").addEventListener("click", () => open(null));
  // A wrong reading is canceled from its row: the list of its kind comes up, the part that was touched first.
  at("wrong").addEventListener("click", (event) => {
    const parts = [...at("rows").querySelectorAll(".part")];
    const touched = parts.findIndex((one) => {
      const box = one.getBoundingClientRect();
      const isIn = (at, from, to) => from <= at && at <= to;
      return isIn(event.clientX, box.left, box.right) && isIn(event.clientY, box.top, box.bottom);
    });
    const row = state.rows[touched];
    send({ action: "readings", of: row ? `${state.step_id.split(":")[0]}:${row.cylinder}` : "" });
  });
  function choose(heading, choices) {
    put(at("goes-to"), heading);
    at("choices").replaceChildren(...choices.map(([text, use]) => {
      const button = document.createElement("button");
      button.type = "button";
      put(button, text);
      button.addEventListener("click", use);
      return button;
    }));
    open("goes");
  }
  function chooseKind() {
    choose(at("goes-to").dataset.kind, state.kinds.map((kind, i) => [kind, () => choose(`${kind}: ${at("goes-to").dataset.one}`,
      state.rows.map((row) => [row.names[i], () => { open(null); send({ action: "go", typed: row.typed[i] }); }]))]));
  }
  // Keys as at the terminal. A letter alone is a command; a scale that types may begin its line with one, so it is
  // carried out only when nothing has followed it for a moment.
  const ALONE_MS = 100, LETTERS = { r: "again", x: "cancel", s: "skip", b: "back", g: "go" };
  let alone = 0;
  const button = (action) => document.querySelector(`.buttons [data-action="${action}"]`);
  addEventListener("keydown", (event) => {
    if (event.target.matches("input") || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Escape") { if (isOpen("pad")) press("close"); else if (isOpen("goes")) open(null); return; }
    if (isOpen("question") || isOpen("goes")) return;
    if (event.key === "Enter") {
      if (event.target.matches("button:focus-visible, a") && !isOpen("pad")) return; // who goes by Tab means that one
      event.preventDefault();
      if (isOpen("pad")) press("take"); else button("take").click();
    } else if (event.key === "Backspace" && isOpen("pad")) press("rub");
    else if (event.key.length === 1 && event.key !== " " || event.key === " " && isOpen("pad")) printable(event.key);
  });
  function printable(key) {
    clearTimeout(alone);
    if (!letter && !isOpen("pad") && LETTERS[key.toLowerCase()]) {
      letter = key;
      begin();
      alone = setTimeout(() => { letter = ""; showTyped(); button(LETTERS[key.toLowerCase()]).click(); }, ALONE_MS);
      return;
    }
    if (!isOpen("pad")) { if (button("type").disabled) { letter = ""; showTyped(); return; } open("pad"); }
    begin();
    typed = (typed + letter + key).slice(0, 60);
    letter = "";
    showTyped();
  }

  show();
  watch({
    state: take,
    // A bench that is opened anew goes on at the grinder, where its screen was; one that does not open says why.
    asks: () => state.grinding ? "?at=grinder" : "",
    refused: ({ said }) => { state = { ...state, ended: said, may: [] }; show(); },
    live: (live) => { state.live = live; showLive(); },
    lost: show,
    up: () => { giveUp(); show(); }, // what went out over the line that was lost is sent again over this one
  });
  addEventListener("storage", show);
})();
