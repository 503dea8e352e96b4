// The log's entries on this device: kept at every letter, checked as they are typed, handed out as CSV.
"use strict";

const told = JSON.parse(document.getElementById("told").textContent);
const columns = told.columns;
const by = (id) => document.getElementById(id);
const control = (field, part = "") => by(`in-${field}${part}`);
const place = `asbuilt log: ${told.job}: ${told.routes.join(", ")}`;

let state = { joints: [], at: 0, handed: "", headings: {} };
let removed = null;
let changed = false;
let stopped = false;

// What is kept

function readKept() {
  let text = null;
  try {
    text = localStorage.getItem(place);
    if (text !== null) take(text);
  } catch (error) {
    if (text !== null) {
      // What cannot be read is put beside, never written over.
      try { localStorage.setItem(`${place}: unreadable ${new Date().toISOString()}`, text); } catch (_) { stopped = true; }
    }
    warn(`What was kept on this device cannot be read (${error.message}); it is left where it is, and this log is empty.`);
  }
}

function take(text) {
  const kept = JSON.parse(text);
  if (!Array.isArray(kept.joints)) throw new Error("no joints in it");
  state = { ...state, ...kept };
}

function tryToKeep() {
  // What is kept is not written anew: a window that was closed a moment ago may not be done with it.
  try {
    localStorage.setItem(`${place}: tried`, "");
    localStorage.removeItem(`${place}: tried`);
  } catch (_) {
    warnOfKeeping();
  }
}

function keep() {
  if (stopped) return;
  changed = true;
  try {
    for (const one of columns) state.headings[one.field] = one.heading;
    localStorage.setItem(place, JSON.stringify(state));
  } catch (_) {
    warnOfKeeping();
  }
}

function warnOfKeeping() {
  warn("This browser keeps nothing of what is typed: hand out the log before you close the page.");
}

function warn(text) {
  by("trouble").textContent = text;
  by("trouble").hidden = false;
}

window.addEventListener("storage", (event) => {
  if (event.key !== place && event.key !== null) return;
  if (!changed && event.newValue !== null) {
    // Nothing was typed here that the other window does not have.
    const at = shown() === null ? Infinity : state.at;
    try {
      take(event.newValue);
      open(at);
      return;
    } catch (_) { /* Of a page that keeps in another way. */ }
  }
  stopped = true;
  warn("This log was changed in another window. This window has stopped: close it, or load it again.");
  for (const one of document.querySelectorAll("input, select, textarea, button")) one.disabled = true;
});

// Controls and their values

const isRadio = (column) => control(column.field) === null;

function valueOf(column) {
  if (!isRadio(column)) return control(column.field).value.trim();
  const chosen = document.querySelector(`input[name="${column.field}"]:checked`);
  if (chosen === null) return "";
  return "other" in chosen.dataset ? control(column.field, "-text").value.trim() : chosen.value;
}

function show(column, value) {
  if (!isRadio(column)) { control(column.field).value = value; return; }
  const radios = [...document.querySelectorAll(`input[name="${column.field}"]`)];
  const none = control(column.field, "-none");
  const other = radios.find((one) => "other" in one.dataset);
  const found = value === "" ? none : radios.find((one) => one.value === value && one !== none) || other || none;
  found.checked = true;
  if (other) {
    control(column.field, "-text").hidden = found !== other;
    control(column.field, "-text").value = found === other ? value : "";
  }
}

// What an entry is held against: asked about, never refused

function number(text) {
  let plain = text.trim();
  if (/^-?\d+,\d+$/.test(plain)) {
    if (/,\d{3}$/.test(plain)) return NaN;
    plain = plain.replace(",", ".");
  }
  const parts = told.fractions && plain.match(/^(?:(\d+)[ -]+)?(\d+)\/([1-9]\d*)$/);
  if (parts) return Number(parts[1] || 0) + Number(parts[2]) / Number(parts[3]);
  return /^-?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : NaN;
}

const digits = { hundreds: 2, thousands: 3 }[told.form];

function station(text) {
  const parts = text.trim().match(/^(-?)(\d+)(?:\+(\d+))?(\.\d+)?(?:\s*(BK|AH|BACK|AHEAD)(?:\s*EQ\s*\d+)?)?$/i);
  if (!parts || (parts[3] && parts[3].length !== digits)) return NaN;
  const value = Number(`${parts[2]}${parts[3] || ""}${parts[4] || ""}`);
  return parts[1] ? -value : value;
}

function stationWritten(text) {
  // A tablet's number pad has no plus: 1234.56 becomes 12+34.56, where it can be seen.
  if (!digits || !/^\d+(\.\d+)?$/.test(text)) return text;
  const [whole, part] = text.split(".");
  const long = whole.padStart(digits + 1, "0");
  const decimals = (part || "").padEnd(digits, "0");
  return `${long.slice(0, -digits)}+${long.slice(-digits)}.${decimals}`;
}

function unreadable(column, text) {
  if (text === "") return "";
  if (column.kind === "station" && Number.isNaN(station(text))) return `Write the station like ${told.example}.`;
  const wanted = column.kind === "number" || column.kind === "reading" || column.field === "size";
  if (wanted && Number.isNaN(number(text))) return "Write a number with a decimal point, without its unit.";
  if (column.closed && !column.choices.includes(text)) return "Choose one of the list.";
  return "";
}

function outside(column, cells) {
  const limit = column.limit;
  const text = cells[column.field] || "";
  if (!limit || text === "" || unreadable(column, text)) return "";
  const beyond = (value, least, most) => (least !== null && value < least) || (most !== null && value > most);
  const together = limit.fields.map((field) => number(cells[field] || "")).filter((value) => !Number.isNaN(value));
  let wrong = false;
  if (limit.of === "value") wrong = beyond(number(text), limit.least, limit.most);
  if (limit.of === "date") wrong = beyond(text, limit.least, limit.most) || text > today();
  if (limit.of === "mean" && together.length === limit.fields.length) {
    wrong = beyond(together.reduce((sum, value) => sum + value, 0) / together.length, limit.least, limit.most);
  }
  if (limit.of === "spread") wrong = Math.max(...together) - Math.min(...together) > limit.most + 1e-9;
  if (limit.of === "size" || limit.of === "route") {
    const key = limit.of === "size" ? number(cells.size || "") : cells.route || "";
    const row = limit.by.find((one) => one[0] === key);
    const value = limit.of === "size" ? number(text) : station(text);
    if (row) wrong = beyond(value, row[1], row[2]);
    else if (limit.of === "route") wrong = beyond(value, limit.least, limit.most);
  }
  return wrong ? `${limit.says} If this is what you found, leave it, and tell the inspector.` : "";
}

function failed(column, cells) {
  const evidence = by(`field-${column.field}`).closest("section").querySelector("h2").textContent === "Making the joint";
  return evidence && cells[column.field] === "no" ? "Noted as not passed: say in the remarks what was done." : "";
}

function family(cells) {
  const plain = (cells.joint_type || "").toLowerCase().replace(/[^a-z0-9-]/g, "");
  const named = told.families[plain] || told.families[plain.replace(/-/g, "")] || plain;
  return cells.restrained === "yes" && !named.startsWith("restrained") ? `restrained-${named}` : named;
}

function required(cells) {
  const named = family(cells);
  return told.required[named] || told.required[named.replace(/^restrained-/, "")] || told.required["*"] || [];
}

function toLookAt(cells) {
  const needed = required(cells);
  const blank = columns.filter((one) => needed.includes(one.field) && !cells[one.field]);
  const wrong = columns.filter((one) => unreadable(one, cells[one.field] || "") || outside(one, cells) || failed(one, cells));
  const station = columns.some((one) => one.field === "station") && !cells.station ? ["no station"] : [];
  const route = columns.some((one) => one.field === "route") && !cells.route ? ["no route"] : [];
  return [...route, ...station, ...blank.map((one) => `blank: ${one.title}`), ...wrong.map((one) => one.title)];
}

// One joint at a time

function today() {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60000).toISOString().slice(0, 10);
}

function fresh() {
  // What is the same at the next joint; what was looked at never is.
  const before = state.joints[state.joints.length - 1] || {};
  const cells = {};
  for (const field of told.kept) if (before[field]) cells[field] = before[field];
  if (columns.some((one) => one.field === "inspected_on")) cells.inspected_on = today();
  if (/^\d+$/.test(before.joint || "")) cells.joint = String(Number(before.joint) + 1);
  if (told.routes.length === 1 && columns.some((one) => one.field === "route")) cells.route = told.routes[0];
  return cells;
}

function shown() {
  return state.at < state.joints.length ? state.joints[state.at] : null;
}

function open(at) {
  state.at = Math.max(0, Math.min(at, state.joints.length));
  const cells = shown() || fresh();
  for (const column of columns) show(column, cells[column.field] || "");
  tell(cells);
  list();
}

function entered() {
  const cells = { ...(shown() || {}) };
  for (const column of columns) {
    const value = valueOf(column);
    if (value) cells[column.field] = value; else delete cells[column.field];
  }
  return cells;
}

function typed() {
  if (stopped) return;
  const cells = entered();
  if (shown() === null) state.joints.push(cells); else state.joints[state.at] = cells;
  keep();
  tell(cells);
  list();
}

function needless(column, cells, needed) {
  // What only a bend or a bolted joint has is asked where there is one; never hidden with something in it.
  if (cells[column.field] || needed.includes(column.field)) return false;
  if (column.field.startsWith("bend_")) return cells.kind !== "bend";
  return column.field === "bolt_torque" && /^(restrained-)?push-on$/.test(family(cells));
}

function tell(cells) {
  const needed = required(cells);
  for (const column of columns) {
    const wrong = unreadable(column, cells[column.field] || "");
    by(`says-${column.field}`).textContent = wrong || outside(column, cells) || failed(column, cells);
    by(`field-${column.field}`).hidden = needless(column, cells, needed);
    by(`needed-${column.field}`).hidden = !needed.includes(column.field);
    if (!isRadio(column)) control(column.field).setAttribute("aria-invalid", String(wrong !== ""));
  }
  const twice = state.joints.filter((one, at) => at !== state.at && cells.joint && one.joint === cells.joint
    && (one.route || "") === (cells.route || ""));
  const photos = (cells.photo || "").split(/[;,\n]/).map((name) => name.trim()).filter(Boolean);
  const others = state.joints.filter((_, at) => at !== state.at).flatMap((one) => (one.photo || "").split(/[;,\n]/))
    .map((name) => name.trim());
  const same = photos.filter((name, at) => others.includes(name) || photos.indexOf(name) !== at);
  if (twice.length) by("says-joint").textContent = "This joint is in the log already: laid again, or written down wrongly?";
  if (same.length && by("says-photo")) {
    by("says-photo").textContent = `${same[0]} stands at another photo already: give each photo a name of its own.`;
  }
  const look = shown() === null ? [] : toLookAt(cells);
  by("look").textContent = look.length ? `To look at: ${look.join("; ")}.` : "";
}

function list() {
  const count = state.joints.length;
  const new_one = shown() === null;
  by("where").textContent = new_one ? `New joint (${count} in the log)` : `Joint ${state.at + 1} of ${count}`;
  by("back").disabled = stopped || state.at === 0;
  by("ahead").disabled = by("next").disabled = stopped || new_one;
  by("remove").disabled = stopped || new_one;
  by("restore").hidden = removed === null;
  by("hand-out").disabled = stopped || count === 0;
  const handed = count > 0 && state.handed === JSON.stringify(state.joints);
  by("begin").disabled = stopped || !handed;
  const many = count === 1 ? "1 joint is" : `${count} joints are`;
  by("kept").textContent = count === 0 ? "Nothing is in this log yet."
    : `${many} kept on this device. ${handed ? "All of it was handed out." : "Not handed out since the last change."}`;
  by("list").replaceChildren(...state.joints.map((cells, at) => {
    const row = document.createElement("tr");
    row.setAttribute("aria-current", String(at === state.at));
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = cells.joint || `(${at + 1})`;
    button.setAttribute("aria-label", `Open joint ${cells.joint || `without number, row ${at + 1}`}`);
    button.addEventListener("click", () => { open(at); window.scrollTo(0, 0); });
    const laid = [cells.size, cells.joint_type, cells.kind].filter(Boolean).join(" ");
    const look = toLookAt(cells).length;
    for (const content of [button, cells.station || "", laid, look ? String(look) : ""]) {
      const cell = document.createElement("td");
      cell.append(content);
      row.append(cell);
    }
    return row;
  }));
}

// The log as a file

function quoted(text) {
  return /[",;\n\r]/.test(text) || text !== text.trim() ? `"${text.replace(/"/g, '""')}"` : text;
}

function written(column, text) {
  const decimal = column.kind === "number" || column.kind === "reading" || column.field === "size";
  return decimal && /^-?\d+,\d+$/.test(text) && !Number.isNaN(number(text)) ? text.replace(",", ".") : text;
}

function csv() {
  // Entries that an earlier page of this job had a column for are handed out too.
  const known = columns.map((one) => one.field);
  const used = new Set(state.joints.flatMap((cells) => Object.keys(cells)));
  const more = [...used].filter((field) => !known.includes(field));
  const all = [...columns, ...more.map((field) => ({ field, heading: state.headings[field] || field, kind: "text" }))];
  const rows = state.joints.map((cells) => all.map((one) => quoted(written(one, cells[one.field] || ""))).join(","));
  return [all.map((one) => quoted(one.heading)).join(","), ...rows, ""].join("\r\n");
}

function bytes(text) {
  const wanted = told.encoding;
  if (wanted.name === "utf-8") return new TextEncoder().encode(`\ufeff${text}`);
  if (wanted.name === "letters") {
    const lost = [...text].filter((one) => one.codePointAt(0) > 127 && !wanted.letters.includes(one));
    if (lost.length) warn(`The job's files have no letter ${lost[0]}; it is handed out as a question mark.`);
    return Uint8Array.from([...text], (one) => {
      const at = one.codePointAt(0) > 127 ? wanted.letters.indexOf(one) + 128 : one.codePointAt(0);
      return one.codePointAt(0) > 127 && at === 127 ? 63 : at;
    });
  }
  const big = wanted.name === "utf-16-be";
  const view = new DataView(new ArrayBuffer(2 * text.length + 2));
  [...Array(text.length + 1).keys()].forEach((at) => view.setUint16(2 * at, `\ufeff${text}`.charCodeAt(at), !big));
  return new Uint8Array(view.buffer);
}

function handOut() {
  const plain = `${told.job} ${told.routes.length === 1 ? told.routes[0] : ""}`.normalize("NFKD").replace(/[^A-Za-z0-9]+/g, "_");
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([bytes(csv())], { type: "text/csv" }));
  link.download = `joint_log_${plain.replace(/^_+|_+$/g, "").slice(0, 60)}_${today()}.csv`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  state.handed = JSON.stringify(state.joints);
  keep();
  list();
}

function begin() {
  const count = state.joints.length;
  if (!window.confirm(`Remove all ${count} joints from this device? They were handed out as CSV: see that the file is there.`)) return;
  state = { joints: [], at: 0, handed: "", headings: {} };
  removed = null;
  keep();
  open(0);
}

// What the buttons do

by("joint").addEventListener("input", (event) => {
  const column = columns.find((one) => one.field === event.target.name);
  if (column && isRadio(column) && control(column.field, "-text")) {
    control(column.field, "-text").hidden = !("other" in event.target.dataset);
  }
  if (event.target.type !== "file") typed();
});
by("joint").addEventListener("change", (event) => {
  if (event.target.id === "in-station") {
    event.target.value = stationWritten(event.target.value.trim());
    typed();
  }
  if (event.target.type === "file") {
    const field = event.target.id.replace(/^in-|-file$/g, "");
    const names = [...event.target.files].map((one) => one.name.replace(/[;,|\n]/g, "_"));
    control(field).value = [control(field).value.trim(), ...names].filter(Boolean).join("; ");
    event.target.value = "";
    typed();
  }
});
by("joint").addEventListener("submit", (event) => event.preventDefault());
const go = (by_how_many) => () => { open(state.at + by_how_many); window.scrollTo(0, 0); };
by("back").addEventListener("click", go(-1));
by("ahead").addEventListener("click", go(1));
by("next").addEventListener("click", go(1));
by("remove").addEventListener("click", () => {
  removed = { at: state.at, cells: state.joints.splice(state.at, 1)[0] };
  keep();
  open(state.at);
});
by("restore").addEventListener("click", () => {
  state.joints.splice(removed.at, 0, removed.cells);
  const at = removed.at;
  removed = null;
  keep();
  open(at);
});
by("hand-out").addEventListener("click", handOut);
by("begin").addEventListener("click", begin);

readKept();
tryToKeep();
open(state.joints.length);
