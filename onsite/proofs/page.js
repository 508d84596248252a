"use strict";
{
  const about = document.documentElement.dataset;
  const most = Number(about.most);
  const byId = (id) => document.getElementById(id);
  const items = [...document.querySelectorAll(".pictures li")];
  const words = JSON.parse(about.words);
  const say = (key, ...values) => words[key].replace(/\ue000(\d)/g, (_, place) => values[place]);
  const labelOf = (item) => item.dataset.label;

  // What was chosen, in that order, and the notes: {label: {chips: [text], words: text}}. By label, since that
  // stays the same when the page is made anew.
  let choice = { chosen: [], notes: {} };

  // A browser may refuse to keep anything, for a page out of a folder above all: then it lasts until closed.
  const key = "picks " + about.page;
  try {
    const kept = JSON.parse(localStorage.getItem(key));
    const known = new Set(items.map(labelOf));
    const chosen = kept.chosen.filter((label) => known.has(label)).slice(0, most);
    const notes = {};
    for (const label of known) {
      const note = kept.notes[label];
      if (note) notes[label] = { chips: note.chips.map(String), words: String(note.words) };
    }
    choice = { chosen, notes };
  } catch { /* nothing kept, or not ours */ }
  const keep = () => { try { localStorage.setItem(key, JSON.stringify(choice)); } catch { /* as above */ } };

  // The pick code, by the rules in code.py: ISO/IEC 7064 MOD 37,36 over an alphabet without look-alikes.
  const ORDER = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
  const summed = (text) => {
    let sum = 18;
    for (const char of text) sum = (((sum || 36) * 2) % 37 + ORDER.indexOf(char)) % 36;
    return sum;
  };
  const withCheck = (body) => body + ORDER[(37 - ((summed(body) || 36) * 2) % 37) % 36];
  const hidesASwap = (text) => [...text].some((char, i) => i && char !== text[i - 1]
    && summed(text.slice(0, i - 1) + char + text[i - 1] + text.slice(i + 1)) === 1);
  const pickCode = (numbers) => {
    const letters = about.alphabet;
    const body = about.mark + about.holder
      + numbers.map((n) => letters[Math.floor(n / letters.length)] + letters[n % letters.length]).join("");
    const possible = [...letters].map((any) => withCheck(about.prefix + any + body))
      .filter((text) => letters.includes(text.at(-1)));
    const whole = possible.find((text) => !hidesASwap(text)) ?? possible[0];
    return whole.match(/.{1,4}/g);
  };

  const noteOf = (label) => {
    const note = choice.notes[label];
    return note ? [...note.chips, note.words.replace(/\s+/g, " ").trim()].filter(Boolean).join("; ") : "";
  };

  const show = (message) => {
    for (const item of items) {
      const chosen = choice.chosen.includes(labelOf(item));
      item.querySelector(".choose").setAttribute("aria-pressed", chosen);
      const note = item.querySelector(".note");
      note.hidden = !chosen;
      note.firstChild.textContent = noteOf(labelOf(item)) || words.addNote;
    }
    if (!most) return;
    const count = choice.chosen.length;
    byId("count").textContent = message || (count ? words.chosenOf[count] : words.nothing);
    byId("done").disabled = !count;
  };

  const toggle = (label) => {
    if (!most) return true;
    const { chosen } = choice;
    let message = "";
    if (chosen.includes(label)) choice.chosen = chosen.filter((other) => other !== label);
    else if (most === 1) choice.chosen = [label];
    else if (chosen.length < most) choice.chosen = [...chosen, label];
    else message = words.allChosen;
    keep();
    show(message);
    return !message;
  };

  const shut = (dialog) => dialog.querySelector(".shut").addEventListener("click", () => dialog.close());
  for (const dialog of document.querySelectorAll("dialog")) {
    shut(dialog);
    dialog.addEventListener("click", (event) => { if (event.target === dialog) dialog.close(); });
  }

  // The larger view.
  const large = byId("large");
  let looking = 0;
  const look = (index) => {
    looking = (index + items.length) % items.length;
    const label = labelOf(items[looking]);
    const from = items[looking].querySelector("img");
    const to = large.querySelector("img");
    to.src = from.src;
    to.alt = say("picture", label);
    large.querySelector(".label").textContent = label;
    const take = large.querySelector(".take");
    if (take) take.textContent = choice.chosen.includes(label) ? words.chosen : words.choose;
    if (!large.open) large.showModal();
  };
  large.querySelector(".before").addEventListener("click", () => look(looking - 1));
  large.querySelector(".next").addEventListener("click", () => look(looking + 1));
  large.querySelector(".take")?.addEventListener("click", () => {
    if (toggle(labelOf(items[looking]))) look(looking); else large.close();
  });
  large.addEventListener("keydown", (event) => {
    const step = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    if (step) { event.preventDefault(); look(looking + step); }
  });

  // The note.
  const noting = byId("noting"), typed = byId("words");
  const chips = [...noting.querySelectorAll(".chip")];
  let noted = "";
  const openNote = (label) => {
    noted = label;
    const note = choice.notes[label] ?? { chips: [], words: "" };
    for (const chip of chips) chip.setAttribute("aria-pressed", note.chips.includes(chip.textContent));
    typed.value = note.words;
    byId("noting-head").textContent = say("noteFor", label);
    noting.showModal();
  };
  const takeNote = () => {
    const pressed = chips.filter((chip) => chip.getAttribute("aria-pressed") === "true");
    choice.notes[noted] = { chips: pressed.map((chip) => chip.textContent), words: typed.value };
    keep();
    show();
  };
  for (const chip of chips) chip.addEventListener("click", () => {
    chip.setAttribute("aria-pressed", chip.getAttribute("aria-pressed") !== "true");
    takeNote();
  });
  typed.addEventListener("input", takeNote);

  // Choosing by a tap, a larger view by holding.
  const HOLD = 450; // ms
  items.forEach((item, index) => {
    const choose = item.querySelector(".choose");
    let timer = 0, held = false;
    const letGo = () => clearTimeout(timer);
    choose.addEventListener("pointerdown", (event) => {
      held = false;
      letGo();
      if (event.button === 0) timer = setTimeout(() => { held = true; look(index); }, HOLD);
    });
    for (const end of ["pointerup", "pointercancel", "pointerleave", "pointermove"]) {
      choose.addEventListener(end, (event) => {
        if (end !== "pointermove" || Math.hypot(event.movementX, event.movementY) > 4) letGo();
      });
    }
    choose.addEventListener("contextmenu", (event) => event.preventDefault());
    choose.addEventListener("click", (event) => {
      letGo();
      if (held && event.detail) { held = false; return; }
      if (most) toggle(labelOf(item)); else look(index);
    });
    item.querySelector(".larger").addEventListener("click", () => look(index));
    item.querySelector(".note").addEventListener("click", () => openNote(labelOf(item)));
  });

  // The code, and the mail around it.
  const send = () => {
    const chosen = choice.chosen.map((label) => items.find((item) => labelOf(item) === label));
    const groups = pickCode(chosen.map((item) => Number(item.dataset.number)));
    byId("code").textContent = groups.join(" ");
    byId("chosen").replaceChildren(...choice.chosen.map((label) => {
      const line = document.createElement("li");
      line.textContent = label + (noteOf(label) ? ": " + noteOf(label) : "");
      return line;
    }));
    const notes = choice.chosen.filter(noteOf).map((label) => say("note", label, noteOf(label)));
    const answer = [say("code", groups.join(" ")), "", ...notes, ...(notes.length ? [""] : []),
      say("pictures", choice.chosen.join(", ")), about.name];
    byId("answer").value = answer.join("\n");
    byId("answer").hidden = true;
    byId("copy").textContent = words.copy;
    writeMail(answer.join("\r\n"));
    byId("sending").showModal();
  };
  // A mail program may cut a long address line without a word, and a note with it: then the mail is left empty.
  const writeMail = (answer) => {
    const to = "mailto:" + encodeURIComponent(about.replyTo).replace("%40", "@")
      + "?subject=" + encodeURIComponent(words.subject);
    const whole = to + "&body=" + encodeURIComponent(answer);
    const fits = whole.length <= Number(about.longest);
    byId("mail").href = fits ? whole : to;
    byId("mail").textContent = fits ? words.writeMail : words.openMail;
    byId("mail-how").hidden = !fits;
    byId("mail-too-long").hidden = fits;
  };
  byId("done")?.addEventListener("click", send);
  byId("copy").addEventListener("click", async () => {
    const answer = byId("answer");
    let copied = false;
    try {
      await navigator.clipboard.writeText(answer.value);
      copied = true;
    } catch {
      answer.hidden = false;
      answer.select();
      try { copied = document.execCommand("copy"); } catch { /* it stays marked, to be copied by hand */ }
    }
    byId("copy").textContent = copied ? words.copied : words.copyMarked;
  });

  document.querySelector("footer")?.removeAttribute("hidden");
  show();
}
