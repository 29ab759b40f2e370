/* Keeps every revision that was looked at, whole, so that it opens again without network. */
"use strict";
const FOLDERS = {}; // folder → digest of its content; `publish` writes it here
const ROOT = new URL("./", self.location).href;
const FRONT = ["index.html", "versions.json", "versions.js"];
const PREFIX = `marginbook ${ROOT} `;
const PATIENCE = 3000; // ms to wait for a weak network before what is kept is shown

const cacheOf = (folder) => `${PREFIX}${folder} ${FOLDERS[folder] ?? ""}`;
const folderOf = (url) => {
  const first = decodeURIComponent(url.slice(ROOT.length).split("/")[0]);
  return Object.hasOwn(FOLDERS, first) ? first : "";
};
const address = (folder, name) =>
  `${ROOT}${folder}/${name.split("/").map((p) => encodeURI(p).replace(/#/g, "%23").replace(/\?/g, "%3F")).join("/")}`;

async function keepFront() {
  const cache = await caches.open(cacheOf(""));
  await cache.addAll(FRONT.map((name) => new Request(ROOT + name, { cache: "reload" })));
}

async function keep(folder) {
  const cache = await caches.open(cacheOf(folder));
  const whole = address(folder, "digests.sha256"); // put last: where it is, all the others are
  if (await cache.match(whole)) return;
  const listed = await fetch(whole, { cache: "reload" });
  if (!listed.ok) throw new Error(`${whole}: ${listed.status}`);
  const names = (await listed.clone().text()).split("\n").filter(Boolean).map((l) => l.slice(66));
  for (let n = 0; n < names.length; n += 20)
    await cache.addAll(names.slice(n, n + 20).map((name) => new Request(address(folder, name), { cache: "reload" })));
  await cache.put(whole, listed);
}

async function renew() {
  const kept = (await caches.keys()).filter((n) => n.startsWith(PREFIX)).map((n) => n.slice(PREFIX.length).split(" ")[0]);
  await keepFront();
  for (const folder of new Set(kept)) if (Object.hasOwn(FOLDERS, folder)) await keep(folder);
}

async function tidy() {
  const wanted = new Set(["", ...Object.keys(FOLDERS)].map(cacheOf));
  for (const name of await caches.keys())
    if (name.startsWith(PREFIX) && !wanted.has(name)) await caches.delete(name);
  await self.clients.claim();
}

async function missing() {
  const kept = [];
  for (const folder of Object.keys(FOLDERS))
    if (await (await caches.open(cacheOf(folder))).match(address(folder, "digests.sha256"))) kept.push(folder);
  const list = kept.map((folder) => `<li><p><a href="${address(folder, "index.html")}">${folder}</a></p></li>`).join("");
  const said = list ? `<p>Kept whole on this device:</p><ul>${list}</ul>` : "<p>Nothing is kept whole yet.</p>";
  const page = `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1">
<title>Not kept on this device</title><style>:root{color-scheme:light dark}body{font:1rem/1.5 system-ui,sans-serif;margin:1rem}a{padding:.6rem 0}</style>
<h1>Not kept on this device</h1><p>There is no network, and this page was not kept.</p>${said}<p><a href="${ROOT}index.html">All revisions</a></p></html>`;
  return new Response(page, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}

async function fresh(request, known, folder) {
  if (!known && request.mode === "navigate") return fetch(request).catch(missing);
  if (!known) return fetch(request);
  const network = fetch(request.url, { cache: "no-cache", credentials: "same-origin" }).then(async (found) => {
    if (!found.ok || found.redirected) return known;
    if (!folder) await (await caches.open(cacheOf(""))).put(request.url.split(/[?#]/)[0], found.clone());
    return found;
  });
  const patience = new Promise((done) => setTimeout(done, PATIENCE, known));
  return Promise.race([network, patience]).catch(() => known);
}

async function answer(event, url) {
  const folder = folderOf(url), cache = await caches.open(cacheOf(folder));
  const known = await cache.match(url.endsWith("/") ? `${url}index.html` : url);
  if (folder && event.request.mode === "navigate") event.waitUntil(keep(folder).catch(() => {}));
  const moves = !folder || folder === "latest" || folder === "draft"; // issued ones never change
  return known && !moves ? known : fresh(event.request, known, folder);
}

self.addEventListener("install", (event) => event.waitUntil(renew().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(tidy()));
self.addEventListener("fetch", (event) => {
  const url = event.request.url.split(/[?#]/)[0];
  if (event.request.method === "GET" && url.startsWith(ROOT)) event.respondWith(answer(event, url));
});
self.addEventListener("message", (event) => {
  const folder = String(event.data.keep);
  if (Object.hasOwn(FOLDERS, folder))
    event.waitUntil(keep(folder).then(() => event.source.postMessage({ kept: folder })).catch(() => {}));
});
