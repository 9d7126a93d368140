// Starts the page's program, and has the service worker keep everything for when there is no signal.
import init from "./app.js";

if ("serviceWorker" in navigator) {
    navigator.serviceWorker
        .register(new URL("../../sw.js", import.meta.url))
        .then((registration) => {
            const offer = () => {
                if (registration.waiting && navigator.serviceWorker.controller) {
                    window.dispatchEvent(new CustomEvent("halfsplit-newer"));
                }
            };
            offer();
            registration.addEventListener("updatefound", () => {
                registration.installing?.addEventListener("statechange", offer);
            });
            let reloading = false;
            navigator.serviceWorker.addEventListener("controllerchange", () => {
                if (reloading || !registration.active) return;
                reloading = true;
                if (window.halfsplitTakesOver) window.location.reload();
            });
        })
        .catch((error) => console.warn("halfsplit is not kept for working without signal: " + error));
}

// The way to the engine: a question out, its answer back.
const engine = new Worker(new URL("worker.js", import.meta.url), { type: "module" });
const asked = new Map();
let last = 0;
engine.onmessage = ({ data }) => {
    asked.get(data.id)?.(data.answer);
    asked.delete(data.id);
};
const down = JSON.stringify({ error: { what: "the engine has stopped", do: "reload the page; what was entered is kept" } });
engine.onerror = () => {
    asked.forEach((resolve) => resolve(down));
    asked.clear();
};
globalThis.halfsplitAsk = (question) =>
    new Promise((resolve) => {
        last += 1;
        asked.set(last, resolve);
        engine.postMessage({ id: last, question });
    });

// Keeps the screen awake while a job is open; where that is not allowed, nothing happens.
let awake = null;
globalThis.halfsplitAwake = async (wanted) => {
    try {
        if (wanted && !awake) awake = await navigator.wakeLock?.request("screen");
        if (!wanted && awake) await awake.release();
        if (!wanted) awake = null;
        awake?.addEventListener("release", () => (awake = null));
    } catch {
        awake = null;
    }
};

try {
    await init({ module_or_path: new URL("app_bg.wasm", import.meta.url) });
} catch (error) {
    const starting = document.getElementById("starting");
    if (starting) {
        starting.textContent =
            "halfsplit could not start: " + error + ". A browser of the last three years is needed; reload the page to try again.";
    }
    throw error;
}
