// The station's page beside what all desks do (desk.js): which view is open, what is ticked, and the pad, on which a
// hand types what the display shows. Nothing is worked out here: what was typed is sent, and read back by the shop's
// computer before a yes.
import { isLive, newId, onDone, onMain, say, send } from "/assets/desk.js";

const at = (id) => document.getElementById(id), all = (query, of = document) => [...of.querySelectorAll(query)];
const main = () => document.querySelector("main.station"), words = at("pad-words").dataset;
const put = (element, text) => { element.textContent = String(text ?? ""); };

// ---- Views: the one of what comes next, until a hand opens another; that one stays until what comes next changes
let open = "", was = "", stamp = "";
const ticked = { over: new Set(), on: new Map(), hung: false, turned: false };

const today = () => new Date().toDateString();

// What was touched is for one spin of one day: what anybody records meanwhile, and midnight, ask for it anew.
function untick() {
  ticked.over.clear();
  ticked.on.clear();
  ticked.hung = ticked.turned = false;
}

function show() {
  const own = main(), next = own.dataset.show, seen = `${own.dataset.stamp} ${today()}`;
  if (seen !== stamp) { untick(); stamp = seen; }
  if (next !== was) { open = ""; was = next; }
  const view = open || next;
  for (const one of all(".view", own)) one.hidden = one.dataset.view !== view;
  for (const one of all("[data-open]", own)) {
    if (one.dataset.open === view) one.setAttribute("aria-current", "page"); else one.removeAttribute("aria-current");
  }
  own.dataset.view = view;
  for (const one of all("[data-tick]", own)) {
    const { tick, name } = one.dataset, text = one.textContent;
    const is = tick === "over" ? ticked.over.has(text) : tick === "on" ? ticked.on.get(name) ?? one.getAttribute("aria-pressed") === "true" : ticked[tick];
    one.setAttribute("aria-pressed", String(is));
  }
  const over = all('[data-tick="over"]', own);
  if (over.length) for (const one of all('[data-act="spin"]', own)) one.disabled = over[0].disabled || !isLive() || over.some((each) => each.getAttribute("aria-pressed") !== "true");
}

document.addEventListener("click", (event) => {
  const one = event.target.closest?.("main.station button");
  if (!one || one.disabled) return;
  const { open: view, tick, pad, form } = one.dataset;
  if (form) fill(form, one);
  else if (view) { open = view; show(); scrollTo(0, 0); main().scrollTo?.(0, 0); }
  else if (tick) {
    const is = one.getAttribute("aria-pressed") !== "true";
    if (tick === "over") { if (is) ticked.over.add(one.textContent); else ticked.over.delete(one.textContent); }
    else if (tick === "on") ticked.on.set(one.dataset.name, is);
    else ticked[tick] = is;
    show();
  } else if (pad) {
    show();
    if (!one.disabled) begin(pad, one);
  }
});

// ---- A sheet with a form: what was drilled and not recorded, what is to be canceled, what somebody looked at
const filled = at("form");
function fill(name, button) {
  const template = main().querySelector(`template[data-template="${name}"]`);
  if (!template) return;
  at("form-of").replaceChildren(document.importNode(template.content, true));
  const form = filled.querySelector("form"), of = filled.querySelector(".form-of");
  Object.assign(form.dataset, { record: button.dataset.record ?? "", step: main().dataset.stamp, saw: main().dataset.head });
  if (of) put(of, button.dataset.said);
  begun = null;
  ofKind(form);
  tellForm("");
  filled.hidden = false;
  filled.scrollTop = 0;
}
// Of what was done otherwise: only what its kind is told by.
function ofKind(form) {
  const kind = form.elements.kind?.value;
  for (const one of all("[data-kinds]", form)) {
    one.hidden = !one.dataset.kinds.split(" ").includes(kind);
    for (const field of all("input, select", one)) field.disabled = one.hidden;
  }
}
filled.addEventListener("change", (event) => { if (event.target.name === "kind") ofKind(event.target.form); });
function tellForm(text) { put(at("form-said-text"), text); at("form-said").hidden = !text; if (text) filled.scrollTop = 0; }
function closeForm() { filled.hidden = true; at("form-of").replaceChildren(); }
filled.addEventListener("click", (event) => { if (event.target.closest?.("[data-close]")) closeForm(); });
filled.addEventListener("submit", async (event) => {
  event.preventDefault();
  const form = event.target, own = Object.fromEntries(new FormData(form)), { act, record, before, step, saw } = form.dataset;
  const rows = all("[data-said]", form);
  const what = act !== "did" ? { ...own, record }
    : rows.length ? { holes: rows.map((one) => ({ said: one.dataset.said, [one.name]: one.value })), before: Number(before) }
      : { holes: [own], before: Number(own.before) };
  const done = await send({ id: newId(), action: act, typed: JSON.stringify(what), step, saw: Number(saw) });
  if (!done) tellForm(at("said-text").textContent);
  else tellForm(done.ok || done.question ? "" : done.said);
});

document.addEventListener("submit", (event) => {
  const form = event.target.closest?.("form#signs");
  if (!form) return;
  event.preventDefault();
  post("sign", { by: form.elements.by.value.trim() });
});

at("said").addEventListener("click", () => say(""));

// ---- The pad
const sheet = at("pad"), fields = Object.fromEntries(all("[data-field]", sheet).map((one) => [one.dataset.field, one]));
const READINGS = ["front_amount", "front_angle", "rear_amount", "rear_angle"];
let begun = null, typed = {}, now = "", pages = [], page = 0, runs = [], typedOver = new Set(), unit = ""; // unit: that the display shows, said at each spin

const onPage = () => all(`.fields[data-page="${pages[page]}"] [data-field]`, sheet).map((one) => one.dataset.field).filter((name) => !fields[name].hidden);
const unitOf = (kind) => { const of = main().dataset; return { reading: of.unit ? unit || "?" : "div", mass: of.massUnit, length: of.lengthUnit }[kind]; };

function begin(pad, button) {
  const of = main().dataset;
  begun = {
    act: button.dataset.act || pad, throw: button.dataset.throw, asked: button.dataset.asked,
    number: Number(button.dataset.number), plan: of.plan, unit: of.unit, massUnit: of.massUnit, lengthUnit: of.lengthUnit,
    step: of.stamp, saw: Number(of.head), id: newId(),
    lookedOver: all('[data-tick="over"]', main()).length > 0, day: today(), hung: ticked.hung, turned: ticked.turned,
    on: all('[data-tick="on"]', main()).map((one) => [one.dataset.name, one.getAttribute("aria-pressed") === "true"]),
  };
  typed = {}; runs = []; page = 0; typedOver = new Set(); unit = "";
  pages = pad === "masses" ? ["masses", "runs"] : [pad];
  for (const name of Object.keys(fields)) fields[name].hidden = false;
  if (pad === "masses") {
    const masses = all(".mass", main());
    for (const plane of ["front", "rear"]) {
      const one = masses.find((each) => each.dataset.plane === plane);
      for (const name of ["grams", "at"]) fields[`${plane}_${name}`].hidden = !one;
      if (one) { typed[`${plane}_at`] = one.dataset.at; typed.radius = one.dataset.radius.split(" ")[0]; }
    }
  }
  for (const one of all("[data-unit-note]", sheet)) put(one, of.unitNote);
  tell("");
  turn(0);
  sheet.hidden = false;
}
function turn(to) {
  page = to;
  now = onPage()[0];
  draw();
}
function tell(text) { put(at("pad-said-text"), text); at("pad-said").hidden = !text; }
function draw() {
  const kind = pages[page];
  for (const one of all(".fields", sheet)) one.hidden = one.dataset.page !== kind;
  const title = kind === "built" ? `${words.throw} ${begun.throw}, ${words.built} ${begun.asked}` : words[kind];
  put(at("pad-title"), kind === "runs" && runs.length ? `${title} · ${words.run} ${runs.length + 1}` : title);
  for (const [name, one] of Object.entries(fields)) {
    const output = one.querySelector("output");
    put(output, typed[name] ?? "");
    output.toggleAttribute("data-long", (typed[name] ?? "").length > 6);
    if (name === now) one.setAttribute("aria-current", "true"); else one.removeAttribute("aria-current");
  }
  put(at("runs"), runs.map((one, at) => `${words.run} ${at + 1}: ${one[0]} @ ${one[1]}, ${one[2]} @ ${one[3]}`).join("\n"));
  at("runs").hidden = !runs.length;
  for (const one of all("[data-unit]", sheet)) if (one.dataset.unit) put(one, unitOf(one.dataset.unit));
  at("units").hidden = kind !== "runs" || !begun.unit;
  for (const one of all("[data-unit-of]", sheet)) one.setAttribute("aria-pressed", String(one.dataset.unitOf === unit));
  key("run").hidden = kind !== "runs";
  key("drop-run").hidden = kind !== "runs" || !runs.length;
}
const key = (name) => sheet.querySelector(`[data-key="${name}"]`);
const isEmpty = () => READINGS.every((name) => !typed[name]);
function press(what) {
  if (what === "close") { sheet.hidden = true; begun = null; return; }
  if (what === "rub") typed[now] = typedOver.has(now) || !typed[now] ? (typed[now] ?? "").slice(0, -1) : "";
  else if (what === "next") {
    const own = onPage();
    now = own[(own.indexOf(now) + 1) % own.length];
  } else if (what === "run") {
    if (isEmpty()) return;
    runs.push(READINGS.map((name) => typed[name] ?? ""));
    for (const name of READINGS) delete typed[name];
    now = READINGS[0];
  } else if (what === "drop-run") runs.pop();
  else if (what === "read") return readBack();
  else {
    const before = typedOver.has(now) ? typed[now] ?? "" : ""; // what was told beforehand is typed over
    if (before.length < 10) typed[now] = before + what;
  }
  if (what !== "next") typedOver.add(now);
  draw();
}
function readBack() {
  if (page + 1 < pages.length) { turn(page + 1); return; }
  if (pages[page] === "runs" && begun.unit && !unit) { tell(words.unitFirst); return; }
  const own = { ...begun };
  if (own.act === "built") post("built", { throw: own.throw, mass: typed.mass ?? "", hung: own.hung });
  else if (own.act === "hole") post("hole", { number: own.number, plan: own.plan, ...(pages[0] === "deep" ? { deep: typed.deep || "?" } : { grams: typed.grams || "?" }) });
  else {
    const every = isEmpty() && runs.length ? runs : [...runs, READINGS.map((name) => typed[name] ?? "")];
    const readings = { runs: every, unit };
    if (own.act === "spin") {
      post("spin", {
        ...readings, looked_over: own.lookedOver && own.day === today(), turned: own.turned,
        ...(own.on.length ? { on: own.on.filter(([, is]) => is).map(([name]) => name) } : {}),
      });
    } else {
      const masses = {};
      for (const plane of ["front", "rear"]) if (!fields[`${plane}_grams`].hidden) masses[plane] = { grams: typed[`${plane}_grams`] ?? "", at: typed[`${plane}_at`] ?? "" };
      post("prove", { ...readings, ...masses, mass_unit: own.massUnit, radius: typed.radius ? `${typed.radius} ${own.lengthUnit}` : "" });
    }
  }
}
async function post(action, what) {
  const of = main().dataset;
  const done = await send({ id: begun?.id ?? newId(), action, typed: JSON.stringify(what), step: begun?.step ?? of.stamp, saw: begun?.saw ?? Number(of.head) });
  if (sheet.hidden) return;
  if (!done) tell(at("said-text").textContent);
  else tell(done.ok || done.question ? "" : done.said);
  if (begun && done) begun.id = newId(); // what was refused is another one when it is typed anew
}
for (const one of all("[data-key]", sheet)) one.addEventListener("click", () => {
  if (one.dataset.key !== "unit") { press(one.dataset.key); return; }
  unit = one.dataset.unitOf;
  tell("");
  draw();
});
for (const [name, one] of Object.entries(fields)) one.addEventListener("click", () => { now = name; draw(); });
addEventListener("keydown", (event) => {
  if (sheet.hidden || !at("question").hidden || event.ctrlKey || event.metaKey || event.altKey) return;
  const what = { Enter: "read", Tab: "next", Escape: "close", Backspace: "rub", ",": "." }[event.key] ?? event.key;
  if (/^[0-9.]$/.test(what) || ["read", "next", "close", "rub"].includes(what)) { event.preventDefault(); press(what); }
});

// ---- What was recorded closes the pad; what others recorded meanwhile leaves it as it is
onDone((sent, done) => {
  if (!done.ok) return;
  if (!sheet.hidden) press("close");
  closeForm();
  untick();
  open = "";
});
onMain(show);
show();
