// Pages work without this file. It brings the list of errors into focus, keeps a second tap from sending a form again
// while the first is on its way (the server makes one record of two either way), and closes the entries behind "More"
// when one looks elsewhere.
"use strict";

document.addEventListener("DOMContentLoaded", () => {
  const errors = document.querySelector(".errors");
  if (errors) errors.focus();
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.dataset.sent) event.preventDefault();
  form.dataset.sent = "yes";
});

// A page taken back from the browser's memory can be sent again.
window.addEventListener("pageshow", () => {
  for (const form of document.forms) delete form.dataset.sent;
});

const more = () => document.querySelector(".nav-more details[open]");

document.addEventListener("click", (event) => {
  if (more() && !more().contains(event.target)) more().open = false;
});

document.addEventListener("focusin", (event) => {
  if (more() && !more().contains(event.target)) more().open = false;
});

document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape" || !more()) return;
  const open = more();
  open.open = false;
  open.querySelector("summary").focus();
});
