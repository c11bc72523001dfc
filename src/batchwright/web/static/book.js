// What the pages do beyond plain forms: a live answer, drafts that survive a lost connection, a camera that sends at once.
// away.js beside it shows the last seen copy of a page when the computer does not answer.
"use strict";
(() => {
  document.documentElement.classList.add("js");
  const store = {
    get(key) { try { return JSON.parse(localStorage.getItem(key)); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, JSON.stringify(value)); } catch { /* full or refused: the form itself still holds it */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* nothing to drop */ } },
  };
  const lost = document.getElementById("lost"), said = document.getElementById("said");
  const say = (words) => { lost.textContent = words; lost.hidden = !words; };
  const wait = (ms) => new Promise((done) => setTimeout(done, ms));
  let timer = 0, asked = 0, going = null; // of the live answer
  const place = () => document.querySelector("[data-answer]"), live = () => document.querySelector("form[data-live]");
  const LAST = "The computer does not answer. What stands here is the last answer it gave; what you type is kept on this device.";
  const AWAY = "The computer does not answer. What you typed is kept on this device and sent when it does.";
  const KEPT = "What you typed is kept on this device and sent again until it is taken.";
  const post = (target, body, signal) => fetch(target, { method: "POST", body, signal, redirect: "follow", credentials: "same-origin" });

  // --- Drafts: what is typed and not yet kept stays in this browser under the form's own name, with the version it was
  // typed over and the key by which the computer knows a form that is sent twice.
  const typedOf = (form) => Object.fromEntries([...new FormData(form)].filter(([name, value]) => typeof value === "string" && name !== "csrf"));
  const draftOf = (form) => form.dataset.draft && "draft:" + form.dataset.draft;
  const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);
  const shown = new WeakMap();
  const isHead = (name) => name === "key" || name === "parent";
  const words = (fields) => Object.entries(fields || {}).filter(([name]) => !isHead(name));

  function restore(form) {
    shown.set(form, typedOf(form));
    const draft = store.get(draftOf(form));
    if (!draft || !draft.fields) return;
    if (same(words(draft.fields), words(shown.get(form)))) { store.drop(draftOf(form)); return; }
    for (const field of form.elements) {
      if (!field.name || field.name === "csrf" || field.type === "submit" || field.type === "file") continue;
      if (field.type === "checkbox" || field.type === "radio") field.checked = draft.fields[field.name] === field.value;
      else if (field.name in draft.fields) field.value = draft.fields[field.name];
    }
    if (draft.sending) { send(form, null, draft.sending); return; } // on its way when the page went: the same key again
    say("What you typed here before is back in its fields; it is not kept yet.");
    if (form === live()) timer = setTimeout(ask, 0);
  }
  const drafts = () => document.querySelectorAll("form[data-draft]").forEach(restore);

  document.addEventListener("input", (event) => {
    const form = event.target.form;
    if (!form || !form.dataset.draft) return;
    const now = typedOf(form);
    if (same(now, shown.get(form))) store.drop(draftOf(form)); else store.set(draftOf(form), { fields: now });
  });

  // --- Sending: fetched while the computer answers; kept and sent again when it does not. A page that shows faults or a
  // proposal takes the place of what stood here; what was kept is gone to.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post") return;
    event.preventDefault();
    if (!form.dataset.sending) send(form, event.submitter);
  });

  const partsOf = (form, button) => new FormData(form, button && button.name ? button : undefined);
  const asText = (parts) => new URLSearchParams([...parts].filter(([, value]) => typeof value === "string"));

  async function send(form, button, again) {
    let body = again ? new URLSearchParams(again.body) : partsOf(form, button);
    if (again) body.set("csrf", form.elements.csrf.value);
    else if (![...body.values()].some((value) => value instanceof File && value.size)) body = asText(body);
    const target = again ? again.target : (button && button.getAttribute("formaction")) || form.getAttribute("action");
    const typed = typedOf(form), key = draftOf(form);
    form.dataset.sending = "yes";
    let answer, text, why = "";
    for (let pause = 1000; !text; pause = Math.min(2 * pause, 15000)) {
      try {
        answer = await post(target, body);
        const came = await answer.text(), later = answer.status >= 500 || answer.status === 429;
        why = later && (parsed(came).querySelector(".fault") || parsed(came).querySelector("main p"))?.textContent;
        if (later) throw new Error("not now");
        text = came;
      } catch {
        const kept = asText(body);
        kept.delete("csrf");
        if (key) store.set(key, { fields: typedOf(form), sending: { target, body: kept.toString() } });
        say(why ? `${why} ${KEPT}` : AWAY);
        why = "";
        await Promise.race([wait(pause), new Promise((done) => addEventListener("online", done, { once: true }))]);
      }
    }
    delete form.dataset.sending;
    say("");
    if (answer.status === 401 || answer.status === 403) forget();
    if (answer.redirected) went(form, key, typed, answer.url, text);
    else if (answer.ok || answer.status === 422) put(text, target);
    else say(parsed(text).querySelector("main p")?.textContent || "The computer does not take this.");
  }
  const parsed = (text) => new DOMParser().parseFromString(text, "text/html");

  function went(form, key, typed, url, text) {
    if (key && !same(words(typedOf(form)), words(typed))) { // typed on while it was on its way: that is kept next
      const next = parsed(text).querySelector(`form[data-draft="${form.dataset.draft}"]`);
      for (const name of ["parent", "key"]) if (next?.elements[name] && form.elements[name]) form.elements[name].value = next.elements[name].value;
      store.set(key, { fields: typedOf(form) });
      say("Kept, but for what you typed since.");
      return;
    }
    const draft = key && store.get(key); // another tab may have typed on under the same name: that stays
    if (draft && same(words(draft.fields), words(typed))) store.drop(key);
    const here = new URL(url);
    if (here.pathname + here.search === location.pathname + location.search) location.reload(); else location.assign(url);
  }

  // --- A page that came back: its middle takes the place of this one's.
  function put(text, target) {
    const page = parsed(text), main = page.getElementById("main");
    if (!main) { say("The computer's answer could not be shown. What you typed is still here."); return; }
    document.getElementById("main").replaceWith(document.adoptNode(main));
    document.title = page.title;
    const wrong = main.querySelector("[aria-invalid]");
    const anchor = target.includes("#") && document.getElementById(target.split("#")[1]);
    if (wrong) { open(wrong); wrong.focus(); } else if (anchor) { anchor.tabIndex = -1; anchor.focus(); anchor.scrollIntoView({ block: "start" }); } else main.focus();
    said.textContent = main.querySelector("h1")?.textContent || "";
    look();
  }
  const open = (field) => { for (let each = field.closest("details"); each; each = each.parentElement.closest("details")) each.open = true; };

  // --- The live answer: a moment after the last key the answer is asked for; the older one stays until it is there.
  async function ask() {
    const mine = ++asked, where = place(), form = live();
    if (!where || !form || form.dataset.sending) return;
    if (going) going.abort();
    going = new AbortController();
    where.setAttribute("aria-busy", "true");
    try {
      const answer = await post(where.dataset.answer, new URLSearchParams([...new FormData(form)]), going.signal);
      if (mine !== asked) return;
      if (answer.status === 204 || answer.status === 429) { timer = setTimeout(ask, 500); return; }
      if (answer.ok) { fill(await answer.text()); if (lost.textContent === LAST) say(""); }
    } catch (fault) {
      if (fault.name === "AbortError") return;
      say(LAST);
      timer = setTimeout(ask, 4000);
    }
    if (mine === asked) where.removeAttribute("aria-busy");
  }
  function fill(text) {
    const before = document.querySelector(".sentence")?.textContent;
    for (const piece of parsed(text).querySelectorAll("[data-into]")) {
      const into = document.getElementById(piece.dataset.into);
      if (!into || into.querySelector("input:focus, textarea:focus")) continue; // never under the hand that types
      const opened = new Set([...into.querySelectorAll("details[open][data-keep]")].map((each) => each.dataset.keep));
      const focused = into.contains(document.activeElement) && document.activeElement.closest("[data-keep]")?.dataset.keep;
      into.replaceChildren(...piece.childNodes);
      for (const each of into.querySelectorAll("details[data-keep]")) {
        if (opened.has(each.dataset.keep)) each.open = true;
        if (focused && each.dataset.keep === focused) each.querySelector("summary").focus();
      }
    }
    const now = document.querySelector(".sentence")?.textContent || "";
    if (now !== before) said.textContent = now;
  }
  document.addEventListener("input", (event) => {
    if (event.target.form && event.target.form === live()) { clearTimeout(timer); timer = setTimeout(ask, 200); }
  });

  // --- Being worked out: asked for again until it is there, unless something is being typed.
  let again = 0;
  function look() {
    clearTimeout(again);
    document.querySelectorAll("time").forEach(local);
    if (!document.querySelector("[data-working]")) return;
    if (live()) { timer = setTimeout(ask, 300); return; }
    again = setTimeout(() => location.reload(), 1500);
  }
  document.addEventListener("input", () => clearTimeout(again));

  // --- Times are kept in that of Greenwich and shown in that of the kitchen.
  function local(place) {
    const when = new Date(place.dateTime), two = (number) => String(number).padStart(2, "0");
    if (!isNaN(when)) place.textContent = `${when.getFullYear()}-${two(when.getMonth() + 1)}-${two(when.getDate())} ${two(when.getHours())}:${two(when.getMinutes())}`;
  }

  // --- The camera: a picture taken is sent at once.
  document.addEventListener("change", (event) => {
    if (event.target.matches("input[data-send]") && event.target.files.length) event.target.form.requestSubmit();
  });

  // --- Plus and minus beside an amount, opening what a link leads to, and printing.
  const stepOf = (now) => (now >= 100 ? 5 : now >= 20 ? 1 : now >= 2 ? 0.5 : 0.1);
  document.addEventListener("click", (event) => {
    const step = event.target.closest("[data-step]");
    if (step) {
      const field = document.getElementById(step.dataset.for);
      const now = parseFloat(field.value.replace(",", ".")) || 0;
      field.value = String(Math.max(0, Math.round((now + Number(step.dataset.step) * stepOf(now)) * 100) / 100));
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    if (event.target.closest("[data-print]")) window.print();
    const link = event.target.closest('a[href^="#"]');
    const goal = link && document.getElementById(link.getAttribute("href").slice(1));
    if (goal) { open(goal.querySelector("details") || goal); (goal.querySelector("details") || goal).open = true; if (goal.matches("input, textarea, select")) { event.preventDefault(); goal.focus(); } }
  });

  // --- While the computer is away: this page is the copy this device kept. Once it answers the page is asked for anew,
  // unless something is typed in it.
  const forget = async () => { if (window.caches) for (const name of await caches.keys()) await caches.delete(name); };
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/away.js" + new URL(document.currentScript.src).search).catch(() => { /* not on such a connection */ });
  const notice = document.querySelector(".away");
  const untouched = () => ![...document.querySelectorAll("form[data-draft]")].some((form) => form.dataset.sending || !same(words(typedOf(form)), words(shown.get(form))));
  async function back() {
    try { await fetch(location.href, { method: "HEAD", cache: "no-store" }); } catch { setTimeout(back, 3000); return; }
    if (untouched()) location.reload();
    else notice.textContent = "The computer answers again. What you typed is still here; it is not kept yet.";
  }
  if (notice) setTimeout(back, 3000);

  drafts();
  look();
})();
