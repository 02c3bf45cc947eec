"use strict";
// One tap is one record, kept on the phone at once. Nothing leaves the phone but the file that is handed over.

const given = JSON.parse(document.getElementById("given").textContent);
const key = "pond hand-over " + given.battle.uid;
const DOUBLE_TAP_MS = 600; // wet fingers tap twice
const byId = (id) => document.getElementById(id);

const blank = () => ({ device: fresh(), name: "", records: [], steps: [] });
let keeps = true; // false where the phone refuses to keep anything
let kept = restored();
let day = given.battle.days.includes(stamp().slice(0, 10)) ? stamp().slice(0, 10) : given.battle.days[0];
let mending = null; // the id of the sortie whose outcome is being changed
let tapped = { where: "", at: 0 };
const open = new Set(); // ships whose symptoms are unfolded
const place = new Map(); // the position chosen on each ship

function fresh() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (each) => each.toString(16).padStart(2, "0")).join("");
}

function two(number) { return String(number).padStart(2, "0"); }

// Now, as the phone's clock has it, with its zone.
function stamp() {
  const now = new Date();
  const zone = -now.getTimezoneOffset();
  const size = Math.abs(zone);
  const year = String(now.getFullYear()).padStart(4, "0");
  return `${year}-${two(now.getMonth() + 1)}-${two(now.getDate())}T${two(now.getHours())}:${two(now.getMinutes())}:` +
    `${two(now.getSeconds())}${zone < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

function restored() {
  try {
    const text = localStorage.getItem(key);
    return text ? JSON.parse(text) : blank();
  } catch {
    keeps = false;
    return blank();
  }
}

function keep() {
  try {
    localStorage.setItem(key, JSON.stringify(kept));
    keeps = true;
  } catch {
    keeps = false;
  }
}

// Change what is kept. A page open twice must not overwrite the other's taps, so the newest is read first.
function change(what) {
  if (keeps) { kept = restored(); }
  what();
  keep();
  draw();
}

function standing() { return kept.records.filter((each) => !each.undone); }
function sortiesOf(ship) {
  return standing()
    .filter((each) => each.kind === "sortie" && each.ship.uid === ship.uid && each.day === day)
    .sort((a, b) => a.number - b.number);
}
function symptomsOf(ship) {
  return standing().filter((each) => each.kind === "symptom" && each.ship.uid === ship.uid && each.day === day);
}
function nextNumber(ship) { return 1 + Math.max(0, ...sortiesOf(ship).map((each) => each.number)); }
function named(ship) { return { uid: ship.uid, name: ship.name }; }

function doubled(where) {
  const now = Date.now();
  const again = tapped.where === where && now - tapped.at < DOUBLE_TAP_MS;
  tapped = { where, at: now };
  return again;
}

function add(record) {
  kept.records.push({ id: fresh(), at: stamp(), waiting: true, ...record });
  kept.steps.push({ id: kept.records.at(-1).id, before: null });
}

function revise(id, values) {
  const at = kept.records.findIndex((each) => each.id === id);
  kept.steps.push({ id, before: kept.records[at] });
  kept.records[at] = { ...kept.records[at], ...values, at: stamp(), waiting: true };
}

function tapWetness(ship, code) {
  if (doubled(ship.uid + code)) { return; }
  const mend = mending;
  mending = null;
  change(() => {
    const sank = given.sunk.includes(code);
    const outcome = { wetness: code, cause: sank ? "unknown" : null, minutes_under: null, box: null };
    const meant = sortiesOf(ship).find((each) => each.id === mend);
    if (meant) {
      const same = meant.wetness === code ? {} : { minutes_under: null };
      revise(meant.id, sank && meant.cause ? { wetness: code, ...same } : outcome);
    } else {
      add({ kind: "sortie", ship: named(ship), day, number: nextNumber(ship), ...outcome });
    }
  });
}

function tapCause(sortie, cause) {
  change(() => revise(sortie.id, { cause }));
}

// What may be left unsaid: tapped again, it is unsaid again.
function tapFact(sortie, fact, value) {
  change(() => revise(sortie.id, { [fact]: sortie[fact] === value ? null : value }));
}

function tapSymptom(ship, position, mode) {
  if (doubled(ship.uid + position + mode)) { return; }
  change(() => add({
    kind: "symptom", ship: named(ship), day, position, mode, after_sortie: nextNumber(ship) - 1,
  }));
}

function undo() {
  mending = null;
  change(() => {
    const step = kept.steps.pop();
    if (!step) { return; }
    const at = kept.records.findIndex((each) => each.id === step.id);
    if (!kept.records[at].handed) {
      kept.records.splice(at, 1, ...(step.before ? [step.before] : []));
    } else { // somebody has it already: what changes must be told, as a tap of now
      const back = step.before ?? { ...kept.records[at], undone: true };
      kept.records[at] = { ...back, at: stamp(), handed: true, waiting: true };
    }
  });
}

function handOver() {
  return {
    format: given.format,
    version: given.version,
    device: kept.device,
    device_name: kept.name,
    handed_over_at: stamp(),
    battle: { uid: given.battle.uid, name: given.battle.name },
    records: kept.records.map(({ handed, waiting, ...record }) => record),
  };
}

function asText() { return JSON.stringify(handOver(), null, 1) + "\n"; }

function fileName() {
  const plain = (text) => text.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-+|-+$/g, "");
  return [plain(given.battle.name) || "battle", plain(kept.name) || "phone", kept.device.slice(0, 4)].join("-") + ".json";
}

function markHanded() {
  change(() => { kept.records = kept.records.map((each) => ({ ...each, handed: true, waiting: false })); });
}

function save() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([asText()], { type: "application/json" }));
  link.download = fileName();
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  byId("handed").textContent = `Saved as ${link.download}. If you can't find it, copy the text below.`;
  markHanded();
}

async function copy() {
  const field = byId("text");
  field.value = asText();
  field.focus();
  field.select();
  let done = document.execCommand("copy");
  try {
    await navigator.clipboard.writeText(field.value);
    done = true;
  } catch { /* the older way has been tried */ }
  byId("handed").textContent = done ? "Copied: paste it into a message." : "Mark the text and copy it by hand.";
  markHanded();
}

function made(tag, values = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(values)) {
    if (name === "onclick") { element.addEventListener("click", value); } else { element.setAttribute(name, value); }
  }
  element.append(...inside);
  return element;
}

function button(text, onclick, values = {}) { return made("button", { type: "button", onclick, ...values }, text); }

function spoken(sortie) { return given.wetness[sortie.wetness ?? "unknown"].short; }

function wetnessButtons(ship) {
  const group = made("div", { class: "wetness", role: "group", "aria-label": `How did ${ship.name} come back?` });
  for (const [code, words] of Object.entries(given.wetness)) {
    const known = code === "unknown" ? null : code;
    const label = `${ship.name}: ${words.short} (${words.long})`;
    group.append(made(
      "button",
      { type: "button", id: `${ship.uid}-${code}`, "aria-label": label, onclick: () => tapWetness(ship, known) },
      made("b", {}, words.short), made("small", {}, words.long),
    ));
  }
  return group;
}

function chips(label, sortie, choices, chosen, tap) {
  const group = made("div", { class: "chips", role: "group", "aria-label": label });
  for (const [value, words] of choices) {
    const values = { "aria-pressed": String(chosen === value), id: `${sortie.id}-${words.replace(/[^a-z0-9]+/gi, "-")}` };
    group.append(button(words, () => tap(value), values));
  }
  return made("div", {}, made("p", {}, `${label} (you may leave it)`), group);
}

function causes(ship, sortie) {
  const label = `Why did ${ship.name} sink in sortie ${sortie.number}?`;
  return chips(label, sortie, given.causes.map((each) => [each, each]), sortie.cause, (each) => tapCause(sortie, each));
}

function minutesUnder(ship, sortie) {
  const label = `How long was ${ship.name} under water in sortie ${sortie.number}?`;
  const choices = (given.minutes[sortie.wetness] ?? []).map((each) => [each, `${each} min`]);
  if (!choices.length) { return ""; }
  return chips(label, sortie, choices, sortie.minutes_under, (each) => tapFact(sortie, "minutes_under", each));
}

function boxFinding(ship, sortie) {
  const label = `${ship.name}'s sealed box, opened after sortie ${sortie.number}: what was inside?`;
  const choices = given.findings.map((each) => [each, each]);
  return chips(label, sortie, choices, sortie.box, (each) => tapFact(sortie, "box", each));
}

function logged(ship) {
  const list = made("ul", { class: "log", "aria-label": `What was tapped of ${ship.name}` });
  for (const sortie of sortiesOf(ship)) {
    const text = `Sortie ${sortie.number}: ${spoken(sortie)}`;
    const chosen = { "aria-pressed": String(mending === sortie.id), "aria-label": `${ship.name}, ${text}: change it` };
    const mend = () => { mending = mending === sortie.id ? null : sortie.id; draw(); };
    list.append(made("li", {}, button(text, mend, chosen)));
  }
  for (const each of symptomsOf(ship)) { list.append(made("li", {}, `${each.position}: ${each.mode}`)); }
  return list;
}

function symptoms(ship) {
  const chosen = place.get(ship.uid);
  const select = made("select", { id: `${ship.uid}-position` }, made("option", { value: "" }, "which place?"));
  for (const position of ship.positions) {
    const option = made("option", { value: position }, position);
    option.selected = position === chosen;
    select.append(option);
  }
  const unfold = () => { if (!open.delete(ship.uid)) { open.add(ship.uid); } };
  select.addEventListener("change", () => { place.set(ship.uid, select.value); draw(select.id); });
  const box = made(
    "details", {}, made("summary", { onclick: unfold, id: `${ship.uid}-wrong` }, "Something is wrong with a part"),
    made("label", { for: select.id }, `Which place on ${ship.name}?`), select,
  );
  box.open = open.has(ship.uid);
  if (chosen) {
    const group = made("div", { class: "chips", role: "group", "aria-label": `What does ${ship.name}/${chosen} do?` });
    for (const mode of given.modes) {
      const id = `${ship.uid}-${mode.replace(/[^a-z]/g, "-")}`;
      group.append(button(mode, () => tapSymptom(ship, chosen, mode), { id }));
    }
    box.append(group);
  }
  return box;
}

function card(ship) {
  const sorties = sortiesOf(ship);
  const meant = sorties.find((each) => each.id === mending);
  const asked = meant ? `Change sortie ${meant.number} to:` : `Sortie ${nextNumber(ship)}: how did she come back?`;
  const box = made("section", { class: "ship", "aria-labelledby": `${ship.uid}-name` });
  box.append(made("h2", { id: `${ship.uid}-name` }, ship.name), made("p", {}, asked), wetnessButtons(ship));
  box.append(logged(ship));
  const sinkings = sorties.filter((each) => given.sunk.includes(each.wetness));
  const sunk = sinkings.find((each) => each.id === mending) ?? sinkings.at(-1);
  if (sunk) { box.append(causes(ship, sunk), minutesUnder(ship, sunk), boxFinding(ship, sunk)); }
  box.append(symptoms(ship));
  return box;
}

function dayButtons() {
  return given.battle.days.map((each) => button(
    each, () => { day = each; mending = null; draw(); }, { "aria-pressed": String(each === day), id: `day-${each}` },
  ));
}

function told() {
  const number = standing().length;
  const waiting = kept.records.filter((each) => each.waiting).length;
  const records = `${number} ${number === 1 ? "record" : "records"} on this phone`;
  const today = stamp().slice(0, 10);
  const clock = given.battle.days.includes(today) ? ""
    : ` This phone's clock says ${today}, no day of the battle: the day chosen here counts.`;
  return keeps ? `${records}, ${waiting} not handed over yet.${clock}`
    : `This phone keeps nothing when the page is closed: hand over before you close it. ${records}.`;
}

function lastTold() {
  const step = kept.steps.at(-1);
  const record = step && kept.records.find((each) => each.id === step.id);
  if (!record) { return "Nothing to undo."; }
  return record.kind === "sortie" ? `Last: ${record.ship.name}, sortie ${record.number} ${spoken(record)}`
    : `Last: ${record.ship.name}, ${record.position} ${record.mode}`;
}

function draw(focus = document.activeElement?.id) {
  byId("days").replaceChildren(...dayButtons());
  byId("ships").replaceChildren(...given.ships.map(card));
  byId("state").textContent = told();
  byId("state").className = keeps ? "" : "warning";
  byId("last").textContent = lastTold();
  byId("undo").disabled = kept.steps.length === 0;
  byId("text").value = asText();
  if (document.activeElement !== byId("name")) { byId("name").value = kept.name; }
  if (focus) { byId(focus)?.focus({ preventScroll: true }); }
}

byId("undo").addEventListener("click", undo);
byId("save").addEventListener("click", save);
byId("copy").addEventListener("click", copy);
byId("name").addEventListener("input", () => change(() => { kept.name = byId("name").value.trim(); }));
window.addEventListener("storage", (event) => { if (event.key === key) { kept = restored(); draw(); } });
keep();
draw();
