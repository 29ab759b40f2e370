/* The list of the other revisions, and whether this one is superseded. Works from file:// as well.
   Over http it also asks the service worker to keep this revision for use without network. */
"use strict";
(() => {
  const script = document.currentScript.src;
  const site = new URL("../", script).href, root = new URL("../../", script).href;
  const folder = decodeURIComponent(site.slice(root.length, -1));
  const own = location.href.split(/[?#]/)[0];
  const page = own.startsWith(site) && own !== site ? decodeURIComponent(own.slice(site.length)) : "index.html";
  const bar = document.querySelector(".mb-rev > div");

  const link = (entry, words) => {
    const anchor = document.createElement("a");
    const at = entry.pages.includes(page) ? page : "index.html";
    anchor.href = root + `${entry.version}/${at}`.split("/").map(encodeURIComponent).join("/");
    anchor.textContent = words;
    return anchor;
  };
  const line = (name, ...content) => {
    const made = document.createElement("p");
    made.className = name;
    made.append(...content);
    bar.append(made);
  };
  const strong = (words) => {
    const made = document.createElement("strong");
    made.textContent = words;
    return made;
  };

  const draw = ({ revisions }) => {
    const details = document.createElement("details"), list = document.createElement("ol");
    const summary = document.createElement("summary");
    summary.textContent = "Revisions";
    for (const entry of revisions) {
      const item = document.createElement("li"), to = link(entry, entry.title);
      if (entry.version === folder) to.setAttribute("aria-current", "true");
      item.append(to);
      list.append(item);
    }
    const all = document.querySelector(".mb-rev-all"), last = document.createElement("li");
    last.append(...all.childNodes);
    list.append(last);
    details.append(summary, list);
    all.replaceWith(details);
    const newest = revisions.find((entry) => !entry.draft);
    const mine = revisions.find((entry) => entry.version === folder);
    if (mine && newest && !mine.draft && mine !== newest)
      line("mb-superseded", strong("Superseded"), ` by ${newest.version}, issued ${newest.date}. `,
        link(newest, "This page there"));
  };
  const alone = () => {
    document.querySelector(".mb-rev-all")?.remove();
    line("mb-rev-alone", "The other revisions are not beside this one; it cannot be told whether it is superseded.");
  };

  if (bar) {
    const versions = document.createElement("script");
    versions.src = `${root}versions.js`;
    versions.onload = () => draw(window.marginbookVersions);
    versions.onerror = alone;
    document.head.append(versions);
  }
  if ("serviceWorker" in navigator && location.protocol.startsWith("http")) {
    navigator.serviceWorker.addEventListener("message", (event) => {
      if (bar && event.data.kept === folder && !document.querySelector(".mb-kept"))
        line("mb-kept", "Kept on this device for use without network.");
    });
    navigator.serviceWorker.register(`${root}sw.js`)
      .then(() => navigator.serviceWorker.ready)
      .then((worker) => worker.active.postMessage({ keep: folder }))
      .catch(() => {});
  }
})();
