"use strict";
(function () {
  const all = (what, within) => Array.from((within || document).querySelectorAll(what));
  const one = (what) => document.querySelector(what);
  const root = document.documentElement;
  const place = "tapemark:" + root.dataset.plan;

  // Ticks are kept on this device; where that is refused they last until the page is closed.
  let kept = null;
  try {
    kept = window.localStorage;
    const probe = place + ":probe";
    kept.setItem(probe, "1");
    kept.removeItem(probe);
  } catch (e) {
    kept = null;
  }
  let ticks = new Set();
  if (kept) {
    try {
      const old = JSON.parse(kept.getItem(place) || "[]");
      ticks = new Set(Array.isArray(old) ? old.filter((k) => typeof k === "string") : []);
    } catch (e) {
      ticks = new Set();
    }
  } else {
    one("#not-kept").hidden = false;
  }
  function keep() {
    if (!kept) { return; }
    try {
      kept.setItem(place, JSON.stringify(Array.from(ticks)));
    } catch (e) {
      one("#not-kept").hidden = false;
    }
  }
  function count() {
    const boxes = all("input[data-tick]");
    const done = boxes.filter((b) => b.checked).length;
    one("#count").textContent = done + " / " + boxes.length;
  }
  for (const box of all("input[data-tick]")) {
    box.disabled = false;
    box.checked = ticks.has(box.dataset.tick);
    const row = box.closest("tr");
    const show = () => { if (row) { row.classList.toggle("gone", box.checked); } };
    show();
    box.addEventListener("change", () => {
      if (box.checked) { ticks.add(box.dataset.tick); } else { ticks.delete(box.dataset.tick); }
      show();
      keep();
      count();
    });
  }
  count();

  // One part at a time; without this script all of them stand one under another.
  const parts = all("main > section[id]");
  const links = all("nav a");
  function turnTo(id, jump) {
    const known = parts.some((p) => p.id === id) ? id : parts[0].id;
    for (const part of parts) { part.hidden = part.id !== known; }
    for (const link of links) {
      if (link.hash === "#" + known) { link.setAttribute("aria-current", "page"); } else { link.removeAttribute("aria-current"); }
    }
    if (jump) { window.scrollTo(0, 0); }
  }
  window.addEventListener("hashchange", () => turnTo(location.hash.slice(1), true));
  turnTo(location.hash.slice(1), false);

  // Somebody's own marks.
  const who = one("#who");
  function mine() {
    for (const row of all("[data-who]")) {
      row.classList.toggle("mine", who.value !== "" && row.dataset.who === who.value);
    }
    for (const card of all("article[data-cast]")) {
      const cast = JSON.parse(card.dataset.cast);
      card.hidden = who.value !== "" && !cast.includes(who.value);
    }
  }
  who.addEventListener("change", mine);

  one("#dim").addEventListener("click", () => {
    const on = root.classList.toggle("dim");
    one("#dim").setAttribute("aria-pressed", String(on));
  });

  // Everyone's way through a shot.
  const svg = "http://www.w3.org/2000/svg";
  for (const slider of all("input[type=range][data-moves]")) {
    const moves = JSON.parse(slider.dataset.moves);
    const drawing = slider.closest("article").querySelector("svg.plan");
    const says = slider.closest("article").querySelector("output");
    const dots = moves.tracks.map((track) => {
      const dot = document.createElementNS(svg, "circle");
      dot.setAttribute("r", "2.2");
      dot.setAttribute("fill", track.ink);
      dot.setAttribute("stroke", "#fff");
      dot.setAttribute("stroke-width", "0.6");
      dot.setAttribute("visibility", "hidden");
      drawing.appendChild(dot);
      return dot;
    });
    slider.hidden = false;
    const move = () => {
      const n = Number(slider.value);
      says.textContent = (n * moves.step_s).toFixed(1) + " s";
      slider.setAttribute("aria-valuetext", says.textContent);
      moves.tracks.forEach((track, i) => {
        const at = track.at[n];
        dots[i].setAttribute("visibility", at ? "visible" : "hidden");
        if (at) {
          dots[i].setAttribute("cx", at[0]);
          dots[i].setAttribute("cy", at[1]);
        }
      });
    };
    slider.addEventListener("input", move);
  }

  // Ticks as a short text.
  one("#as-text").addEventListener("click", () => {
    const lines = all("input[data-tick]").filter((b) => b.checked).map((b) => b.dataset.tick);
    const text = one("#text");
    text.hidden = false;
    text.value = lines.join("\n");
    text.focus();
    text.select();
  });
  for (const hand of all(".hand")) { hand.hidden = false; }
})();
