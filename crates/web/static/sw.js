// Keeps the whole app on the device. One version, one store: a page that runs on the version before goes on with
// it until it is closed or asks for the new one.
"use strict";

const version = "{{version}}";
const store = "halfsplit " + version;
const files = [
    {{precache}}
];

self.addEventListener("install", (event) => {
    event.waitUntil(
        caches.open(store).then((cache) =>
            // Past the browser's own store: what is kept must be of this version.
            cache.addAll(files.map((file) => new Request(file, { cache: "reload" }))),
        ),
    );
});

self.addEventListener("activate", (event) => {
    event.waitUntil(
        caches
            .keys()
            .then((names) => Promise.all(names.filter((n) => n.startsWith("halfsplit ") && n !== store).map((n) => caches.delete(n))))
            .then(() => self.clients.claim()),
    );
});

self.addEventListener("message", (event) => {
    if (event.data === "take over") {
        self.skipWaiting();
    }
});

self.addEventListener("fetch", (event) => {
    const request = event.request;
    const url = new URL(request.url);
    const home = new URL("./", self.location.href);
    if (request.method !== "GET" || url.origin !== home.origin || !url.pathname.startsWith(home.pathname)) {
        return;
    }
    const path = url.pathname.slice(home.pathname.length);
    const kept = path === "" ? "index.html" : path;
    if (!files.includes(kept)) {
        return;
    }
    event.respondWith(
        caches
            .open(store)
            .then((cache) => cache.match(kept))
            .then((found) => found || fetch(request)),
    );
});
