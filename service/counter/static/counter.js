"use strict";
// The page works without this: here the verdict comes without a reload, and choices as one types.
(() => {
  const form = document.getElementById("build");
  const verdict = document.getElementById("verdict");
  const status = document.getElementById("status");
  const parts = document.getElementById("parts");
  let latest = 0;

  const query = () => {
    const stated = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (value !== "" || name.startsWith("load_")) stated.append(name, value);
    return stated;
  };

  async function judge() {
    const mine = ++latest;
    const stated = query();
    status.textContent = form.dataset.updating;
    verdict.setAttribute("aria-busy", "true"); // what is shown is about another build
    const answer = await fetch("/counter/verdict?" + stated).catch(() => null);
    const fresh = await body(answer);
    if (mine !== latest) return; // a newer question is under way
    if (answer?.status === 401) { location.assign("/counter/key"); return; }
    if (fresh) show(fresh); else showNone();
    verdict.removeAttribute("aria-busy");
    history.replaceState(null, "", "/counter?" + stated);
    document.getElementById("demo")?.remove();
  }

  // What an answer shows; nothing where there is none, or where it is no verdict.
  async function body(answer) {
    if (!answer?.ok || !answer.headers.get("content-type")?.startsWith("text/html")) return null;
    const text = await answer.text().catch(() => "");
    const fresh = new DOMParser().parseFromString(text, "text/html").body;
    return fresh.querySelector(".head") ? fresh : null;
  }

  function show(fresh) {
    const name = verdict.contains(document.activeElement) ? document.activeElement.name : "";
    verdict.replaceChildren(...fresh.childNodes);
    if (name) verdict.querySelector(`[name="${CSS.escape(name)}"]`)?.focus();
    const told = [".head h2", ".head .headline", "#put-aside"].map((part) => verdict.querySelector(part));
    const words = (part) => [...part.childNodes].map((each) => (each.matches?.(".mark") ? "" : each.textContent)).join("");
    status.textContent = told.map((part) => (part ? words(part).trim() : "")).join(" ").trim();
  }

  // Nothing of the old verdict stays but the readings that were typed there.
  function showNone() {
    for (const old of [...verdict.children]) if (!old.matches(".measure, [name=measured_on]")) old.remove();
    verdict.prepend(document.getElementById("no-verdict").content.cloneNode(true));
    status.textContent = form.dataset.noAnswer;
  }

  async function choose(listId, address) {
    const answer = await fetch(address);
    if (!answer.ok) return;
    const options = (await answer.json()).map((choice) => Object.assign(document.createElement("option"), choice));
    document.getElementById(listId).replaceChildren(...options);
  }

  const later = (work, wait) => {
    let timer;
    return (...given) => { clearTimeout(timer); timer = setTimeout(() => work(...given), wait); };
  };
  const vehicles = later((words) => choose("vehicles", "/counter/vehicles?" + new URLSearchParams({ q: words })), 150);
  const fitting = later((words) => {
    const axle = { vehicle: form.elements.vehicle.value, end: form.elements.end.value, lang: form.elements.lang.value, q: words };
    return choose("part-choices", "/counter/parts?" + new URLSearchParams(axle));
  }, 150);

  function emptyRow() {
    const rows = [...parts.querySelectorAll("[name=sku]")];
    const free = rows.find((row) => row.value === "");
    if (free) return free;
    const last = rows.at(-1).closest("p");
    const row = last.cloneNode(true);
    row.querySelector("bdi")?.remove();
    const input = row.querySelector("input");
    input.value = "";
    input.setAttribute("aria-label", form.dataset.part.replace("#", rows.length + 1));
    input.setAttribute("aria-describedby", "parts-hint");
    last.after(row);
    return input;
  }

  function emptyMass() {
    const last = [...form.querySelectorAll(".mass")].at(-1);
    if ([...last.querySelectorAll("input")].every((input) => input.value === "")) return;
    const row = last.cloneNode(true);
    for (const input of row.querySelectorAll("input")) input.value = "";
    last.after(row);
  }

  function named(input) {
    const option = [...document.getElementById("part-choices").options].find((each) => each.value === input.value);
    const row = input.closest("p");
    row.querySelector("bdi")?.remove();
    if (option) row.append(Object.assign(document.createElement("bdi"), { className: "hint", textContent: option.label }));
  }

  form.addEventListener("input", (event) => {
    if (event.target.name === "vehicle") vehicles(event.target.value);
    if (event.target.name === "sku") fitting(event.target.value);
  });
  document.addEventListener("change", (event) => {
    const field = event.target;
    if (field.form !== form) return;
    if (field.name === "lang") { form.submit(); return; }
    if (field.name === "sku") { named(field); emptyRow(); }
    if (field.closest(".mass")) emptyMass();
    if (field.name === "vehicle") {
      const chosen = [...document.getElementById("vehicles").options].find((each) => each.value === field.value);
      document.getElementById("vehicle-hint").textContent = chosen?.label ?? form.dataset.vehicleHint;
    }
    if (["vehicle", "end"].includes(field.name)) fitting("");
    judge();
  });
  form.addEventListener("submit", (event) => {
    if (event.submitter?.formMethod === "post") return;
    event.preventDefault();
    const field = document.activeElement;
    if (field?.name === "sku" && field.value) emptyRow().focus(); // a scanner ends each part with Enter
    judge();
  });
})();
