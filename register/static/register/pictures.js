// Pictures go to the server one by one as they are chosen, each with its state and, where the connection broke, a button
// to try it again. Without this file the form sends them together, and the server does the same with them.
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  for (const form of document.querySelectorAll("form[data-pictures]")) oneByOne(form);
});

function oneByOne(form) {
  const box = form.querySelector(".sending");
  const said = box.querySelector(".said");
  const list = box.querySelector("ul");
  const waiting = [];
  const broken = new Set();
  let sending = null;
  let goesOn = false;
  let warned = false;

  for (const input of form.querySelectorAll("input[type=file]")) {
    input.addEventListener("change", () => take(input));
    take(input); // what was chosen before this file had come
  }

  function take(input) {
    if (!input.files.length) return;
    for (const file of input.files) add(input.name, file);
    input.value = "";
    box.hidden = false;
    warned = false;
    next();
  }

  function add(name, file) {
    const line = document.createElement("li");
    const words = document.createElement("span");
    line.append(`${file.name}: `, words);
    list.append(line);
    const one = { name, file, line, words };
    if (file.size > Number(form.dataset.most)) {
      words.textContent = "not taken: it is larger than 60 MB.";
    } else {
      words.textContent = "waits";
      waiting.push(one);
    }
  }

  function next() {
    if (sending) return;
    sending = waiting.shift() || null;
    if (sending) send(sending);
    tell();
    if (!sending && goesOn) leave();
  }

  function send(one) {
    const request = new XMLHttpRequest();
    const data = new FormData();
    data.append(one.name, one.file, one.file.name);
    request.open("POST", form.getAttribute("action") || window.location.href);
    request.setRequestHeader("Accept", "application/json");
    request.setRequestHeader("X-CSRFToken", token());
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) one.words.textContent = `is on its way, ${Math.floor((100 * event.loaded) / event.total)} %`;
    });
    request.addEventListener("load", () => answered(one, request));
    for (const kind of ["error", "abort", "timeout"]) request.addEventListener(kind, () => failed(one, "the connection broke."));
    one.words.textContent = "is on its way";
    request.send(data);
  }

  // Signing in again in another tab changes the token: the cookie has the one of today.
  function token() {
    const cookie = document.cookie.split("; ").find((one) => one.startsWith("csrftoken="));
    return cookie ? cookie.slice("csrftoken=".length) : form.elements.csrfmiddlewaretoken.value;
  }

  function answered(one, request) {
    let told = null;
    try { told = JSON.parse(request.responseText); } catch { /* a page and no answer */ }
    if (!told || !told.kept) {
      const signIn = new URL(request.responseURL || window.location.href).pathname.startsWith("/sign-in/");
      const why = told && told.said ? told.said : `the server did not take it (${request.status}).`;
      failed(one, signIn ? "you were signed out. Sign in in another tab, and come back to this one." : why);
      return;
    }
    one.words.textContent = told.kept.length ? "has arrived" : `not taken: ${told.failed[0].why}`;
    const none = form.querySelector(".pair");
    if (none && told.kept.length) none.hidden = true;
    sending = null;
    next();
  }

  function failed(one, why) {
    one.words.textContent = `not sent: ${why} `;
    const again = document.createElement("button");
    again.type = "button";
    again.className = "link";
    again.textContent = "Try again";
    again.setAttribute("aria-label", `Try again: ${one.file.name}`);
    again.addEventListener("click", () => {
      again.remove();
      broken.delete(one);
      waiting.push(one);
      one.words.textContent = "waits";
      next();
    });
    one.line.append(again);
    broken.add(one);
    sending = null;
    next();
  }

  function tell() {
    const left = waiting.length + (sending ? 1 : 0);
    if (left) said.textContent = goesOn ? `${left} still on the way: the page goes on by itself` : `${left} still on the way`;
    else said.textContent = broken.size ? `${broken.size} not sent` : "All that were chosen have been sent";
  }

  function leave() {
    goesOn = false;
    if (broken.size && !warned) {
      warned = true;
      said.textContent = `${broken.size} not sent. Try again, or press the button once more to go on without.`;
      said.scrollIntoView({ block: "nearest" });
      return;
    }
    form.submit();
  }

  form.addEventListener("submit", (event) => {
    if (!list.children.length || event.submitter?.name) return;
    event.preventDefault();
    event.stopPropagation();
    goesOn = true;
    if (sending) tell();
    else leave();
  });

  window.addEventListener("beforeunload", (event) => {
    if (sending || waiting.length) event.preventDefault();
  });
}
