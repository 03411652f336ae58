// Sends photos one after the other and tells of each how far it is; without it the form still works.
"use strict";

(() => {
  const form = document.getElementById("photograph");
  if (!form) return;
  const list = document.getElementById("sent");
  const summary = document.getElementById("summary");
  const template = document.getElementById("sent-row");
  const camera = document.getElementById("camera");
  const photos = document.getElementById("photos");
  const queue = [];
  const counts = { logged: 0, "already logged": 0, refused: 0, scraps: 0 };
  let busy = false;

  form.querySelectorAll(".with-script").forEach((part) => { part.hidden = false; });
  form.querySelectorAll(".without-script").forEach((part) => { part.hidden = true; });
  photos.classList.add("unseen");
  photos.removeAttribute("name");

  const plural = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;

  const tell = () => {
    const done = counts.logged + counts["already logged"] + counts.refused;
    const left = queue.length + (busy ? 1 : 0);
    if (left) {
      summary.textContent = `${done} of ${done + left} done`;
    } else if (done) {
      summary.textContent = `Done: ${plural(counts.logged, "photo")} logged with ${plural(counts.scraps, "scrap")}, `
        + `${counts["already logged"]} already there, ${counts.refused} not logged.`;
    }
  };

  const addRow = (file) => {
    const row = template.content.firstElementChild.cloneNode(true);
    row.querySelector(".name").textContent = file.name;
    row.querySelector(".state").textContent = "Waiting";
    row.querySelector("progress").setAttribute("aria-label", `Progress of ${file.name}`);
    list.prepend(row);
    // The picture at once, before it is sent; kinds the browser cannot show come from the stash.
    const picture = new Image();
    picture.alt = file.name;
    picture.src = URL.createObjectURL(file);
    picture.addEventListener("error", () => picture.remove());
    row.querySelector(".shown").append(picture);
    row.scrollIntoView({ block: "start" });
    picture.addEventListener("load", () => row.scrollIntoView({ block: "start" }));
    return row;
  };

  const finish = (row, text) => {
    row.querySelector(".state").textContent = text;
    row.querySelector("progress").hidden = true;
  };

  const offerAgain = (job) => {
    const again = document.createElement("button");
    again.type = "button";
    again.textContent = "Send again";
    again.addEventListener("click", () => {
      again.remove();
      counts.refused -= 1;
      job.row.querySelector("progress").hidden = false;
      queue.push(job);
      next();
    });
    job.row.querySelector(".after").replaceChildren(again);
  };

  const SVG = "http://www.w3.org/2000/svg";
  const make = (kind, parent, values) => {
    const made = document.createElementNS(SVG, kind);
    Object.entries(values).forEach(([name, value]) => made.setAttribute(name, value));
    parent.append(made);
    return made;
  };

  // The photo with what was found on it.
  const drawn = (photo, local) => {
    const [width, height] = photo.size_px;
    const drawing = document.createElementNS(SVG, "svg");
    drawing.setAttribute("class", "drawing on-photo");
    drawing.setAttribute("viewBox", `0 0 ${width} ${height}`);
    drawing.setAttribute("role", "group");
    drawing.setAttribute("aria-label", `The photo with ${plural(photo.outlines.length, "outline")} drawn on it`);
    make("image", drawing, { href: local || `${photo.address}/upright.jpg`, width, height, preserveAspectRatio: "none" });
    const unit = width / 100;
    for (const { number, path, x, y } of photo.outlines) {
      const link = make("a", drawing, { href: `/scrap/${number}`, "aria-label": `Scrap ${number}` });
      make("path", link, { class: "under", d: path, "stroke-width": unit * 0.9 });
      make("path", link, { class: "over", d: path, "stroke-width": unit * 0.4 });
      const mark = make("g", link, { transform: `translate(${x} ${y}) scale(${unit})` });
      make("rect", mark, { x: -3, y: -2, width: 6, height: 4, rx: 1 });
      make("text", mark, { y: 0.9, "text-anchor": "middle" }).textContent = String(number);
    }
    return drawing;
  };

  const showLogged = (row, photo) => {
    const words = photo.status === "logged" ? "Logged" : "Already in the stash";
    finish(row, `${words}: ${plural(photo.scraps, "scrap")}`
      + (photo.cut_off ? `; ${photo.cut_off} cut off by the border, not measured` : ""));
    const link = document.createElement("a");
    link.href = photo.address;
    link.textContent = "Look and correct";
    const shown = row.querySelector(".shown");
    const local = shown.querySelector("img");
    if (photo.size_px) shown.replaceChildren(drawn(photo, local && local.complete && local.naturalWidth ? local.src : ""));
    row.querySelector(".after").replaceChildren(link);
  };

  // The same photo would be refused again: another one helps.
  const offerAnother = (job) => {
    const another = document.createElement("button");
    another.type = "button";
    another.className = "main";
    another.textContent = "Take it again";
    another.addEventListener("click", () => { job.row.remove(); camera.click(); });
    job.row.querySelector(".after").replaceChildren(another);
  };

  const failed = (job, text, refused = false) => {
    counts.refused += 1;
    finish(job.row, text);
    (refused ? offerAnother : offerAgain)(job);
  };

  const answered = (job, request) => {
    let answer = null;
    try { answer = JSON.parse(request.responseText); } catch { /* told below */ }
    if (request.status !== 200 || !answer || !answer.photos) {
      failed(job, `Not logged. ${answer && answer.problem ? answer.problem : "The stash did not answer."}`);
      return;
    }
    const [photo] = answer.photos;
    if (!photo || photo.status === "refused") {
      failed(job, `Not logged. ${photo ? photo.reason : "This file is empty."}`, Boolean(photo));
      return;
    }
    counts[photo.status] += 1;
    if (photo.status === "logged") counts.scraps += photo.scraps;
    showLogged(job.row, photo);
  };

  const send = (job) => new Promise((resolve) => {
    const bar = job.row.querySelector("progress");
    const state = job.row.querySelector(".state");
    const body = new FormData(form);
    body.append("photos", job.file, job.file.name);
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("Accept", "application/json");
    state.textContent = "Sending";
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) bar.value = (event.loaded / event.total) * 100;
    });
    request.upload.addEventListener("load", () => {
      state.textContent = "Measuring";
      bar.removeAttribute("value");
    });
    request.addEventListener("load", () => { answered(job, request); resolve(); });
    request.addEventListener("error", () => {
      failed(job, "Not logged: the stash could not be reached.");
      resolve();
    });
    request.send(body);
  });

  const next = async () => {
    if (busy) return;
    while (queue.length) {
      const job = queue.shift();
      busy = true;
      tell();
      await send(job);
      busy = false;
    }
    tell();
  };

  const add = (input) => {
    for (const file of input.files) queue.push({ file, row: addRow(file) });
    input.value = "";
    next();
  };
  camera.addEventListener("change", () => add(camera));
  photos.addEventListener("change", () => add(photos));
  window.addEventListener("beforeunload", (event) => { if (busy || queue.length) event.preventDefault(); });
})();
