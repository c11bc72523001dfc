// What the pages do beyond plain forms: a live answer, drafts that survive a lost connection, a camera that sends at once.
"use strict";
(() => {
  const store = {
    get(key) { try { return JSON.parse(localStorage.getItem(key)); } catch { return null; } },
    set(key, value) { try { localStorage.setItem(key, JSON.stringify(value)); } catch { /* full or refused: the form itself still holds it */ } },
    drop(key) { try { localStorage.removeItem(key); } catch { /* nothing to drop */ } },
  };
  const lost = document.getElementById("lost");
  const say = (words) => { lost.textContent = words; lost.hidden = !words; };
  const wait = (ms) => new Promise((done) => setTimeout(done, ms));
  const once = () => Array.from(crypto.getRandomValues(new Uint8Array(12)), (byte) => byte.toString(16).padStart(2, "0")).join("");

  // --- Drafts: what is typed and not yet kept stays in this browser under the form's own name.
  const typedOf = (form) => Object.fromEntries([...new FormData(form)].filter(([name, value]) => typeof value === "string" && name !== "csrf"));
  for (const form of document.querySelectorAll("form[data-draft]")) {
    const key = "draft:" + form.dataset.draft;
    const before = typedOf(form);
    const draft = store.get(key);
    if (draft) {
      let changed = false;
      for (const [name, value] of Object.entries(draft)) {
        const field = form.elements[name];
        if (field && "value" in field && field.type !== "hidden" && field.value !== value) { field.value = value; changed = true; }
      }
      if (changed) say("What you typed here before is back in its fields; it is not kept yet.");
    }
    form.addEventListener("input", () => {
      const now = typedOf(form);
      if (JSON.stringify(now) === JSON.stringify(before)) store.drop(key); else store.set(key, now);
    });
    form.addEventListener("submit", (event) => send(event, form, key));
  }

  // --- Sending: as a plain form while the computer answers; kept and sent again when it does not.
  async function send(event, form, key) {
    if (form.enctype === "multipart/form-data") { store.drop(key); return; }
    event.preventDefault();
    const button = event.submitter;
    const body = new URLSearchParams([...new FormData(form, button && button.name ? button : undefined)]);
    if (!body.has("key")) body.set("key", once());
    const target = (button && button.getAttribute("formaction")) || form.getAttribute("action");
    if (button) button.disabled = true;
    for (let pause = 2000; ; pause = Math.min(2 * pause, 30000)) {
      try {
        const answer = await fetch(target, { method: "POST", body, redirect: "follow", credentials: "same-origin" });
        if (answer.status >= 500) throw new Error("the computer could not keep it");
        store.drop(key);
        say("");
        if (answer.redirected) { location.assign(answer.url); if (new URL(answer.url).pathname === location.pathname) location.reload(); return; }
        const text = await answer.text();
        document.open(); document.write(text); document.close();
        return;
      } catch {
        store.set(key, Object.fromEntries([...body].filter(([name]) => name !== "csrf")));
        say("The computer does not answer. What you typed is kept on this device and sent when it does.");
        await wait(pause);
      }
    }
  }

  // --- The live answer: a moment after the last key the answer is asked for; the older one stays until then.
  const place = document.querySelector("[data-answer]");
  const live = document.querySelector("form[data-live]");
  if (place && live) {
    let timer = 0, asked = 0;
    const ask = async () => {
      const mine = ++asked;
      place.setAttribute("aria-busy", "true");
      try {
        const answer = await fetch(place.dataset.answer, { method: "POST", body: new URLSearchParams([...new FormData(live)]), credentials: "same-origin" });
        if (answer.status === 204 && mine === asked) { timer = setTimeout(ask, 500); return; }
        if (answer.ok && mine === asked) { place.innerHTML = await answer.text(); say(""); }
      } catch { say("The computer does not answer. This answer is the last one it gave."); }
      if (mine === asked) place.removeAttribute("aria-busy");
    };
    live.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(ask, 400); });
    if (place.querySelector("[data-working]")) ask();
  } else if (document.querySelector("[data-working]")) {
    // --- Being worked out: the page is asked for again until it is there, unless something is being typed.
    const again = setTimeout(() => location.reload(), 1500);
    document.addEventListener("input", () => clearTimeout(again), { once: true });
  }

  // --- The camera: a picture taken is sent at once.
  for (const input of document.querySelectorAll("input[data-send]")) {
    input.addEventListener("change", () => { if (input.files.length) input.form.requestSubmit(); });
  }

  // --- Plus and minus beside an amount, and printing.
  document.addEventListener("click", (event) => {
    const step = event.target.closest("[data-step]");
    if (step) {
      const field = document.getElementById(step.dataset.for);
      const now = parseFloat(field.value.replace(",", ".")) || 0;
      field.value = String(Math.max(0, Math.round((now + Number(step.dataset.step)) * 100) / 100));
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    if (event.target.closest("[data-print]")) window.print();
  });
})();
