"use strict";
const words = document.getElementById("words");
const code = document.getElementById("code");

async function pair(given) {
  words.textContent = "pairing …";
  const answer = await fetch("pair", { method: "POST", body: given, credentials: "same-origin" });
  words.textContent = await answer.text();
  if (answer.ok) location.replace("/");
}

document.getElementById("go").addEventListener("click", () => pair(code.value.trim()));
// the code comes behind the # of the scanned address, which no server and no log ever sees
if (location.hash.length > 1) {
  const given = location.hash.slice(1);
  history.replaceState(null, "", location.pathname);
  pair(given);
}
