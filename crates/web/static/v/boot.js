// Starts the page's program; then has the service worker keep everything for when there is no signal.
const here = (name) => new URL(name, import.meta.url);

// All of this comes at once: compiled while it comes, and before the page's glue is read.
const program = WebAssembly.compileStreaming(fetch(here("app_bg.wasm")));
const glue = import("./app.js");
const engine = new Worker(here("worker.js"), { type: "module" });
const machines = fetch(here("machines.json")).then((found) => found.text());
// Reported where it is waited for.
[program, glue, machines].forEach((one) => one.catch(() => {}));
globalThis.halfsplitMachines = () => machines;

// The way to the engine: a question out, its answer back; with a picture's bytes beside it where there are some.
const asked = new Map();
let last = 0;
// What the engine has computed so far, milliseconds: for whoever measures.
globalThis.halfsplitComputed = 0;
engine.onmessage = ({ data }) => {
    globalThis.halfsplitComputed += data.computed;
    asked.get(data.id)?.(data);
    asked.delete(data.id);
};
const down = JSON.stringify({ error: { what: "the engine has stopped", do: "reload the page; what was entered is kept" } });
engine.onerror = () => {
    asked.forEach((resolve) => resolve({ answer: down }));
    asked.clear();
};
const post = (question, blob) =>
    new Promise((resolve) => {
        last += 1;
        asked.set(last, resolve);
        engine.postMessage({ id: last, question, blob });
    });
globalThis.halfsplitAsk = async (question) => (await post(question)).answer;

// Keeps a photo, made small enough, under the hash of its bytes (SHA-256), and gives that.
const LONGEST = 1600;
globalThis.halfsplitPhoto = async (file) => {
    if (!crypto.subtle) throw new Error("photos need a secure connection: open the page by https");
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(picture.width * scale));
    canvas.height = Math.max(1, Math.round(picture.height * scale));
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.82));
    if (!blob) throw new Error("this browser cannot make a picture of it");
    const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
    const hash = "sha256:" + Array.from(digest, (b) => b.toString(16).padStart(2, "0")).join("");
    const { answer } = await post(JSON.stringify({ ask: "keep_photo", hash }), blob);
    return JSON.stringify({ ...JSON.parse(answer), hash });
};

// Where a photo can be seen; empty where this device does not have it.
const seen = new Map();
globalThis.halfsplitPhotoAt = async (hash) => {
    if (!seen.has(hash)) {
        const { blob } = await post(JSON.stringify({ ask: "photo", hash }));
        if (!blob) return "";
        seen.set(hash, URL.createObjectURL(blob));
    }
    return seen.get(hash);
};

// Keeps the screen awake while a job is open, and again when the page comes back into view; where that is not
// allowed, nothing happens.
let awake = null;
let wanted = false;
const rouse = async () => {
    try {
        if (wanted && !awake && document.visibilityState === "visible") {
            awake = (await navigator.wakeLock?.request("screen")) ?? null;
            awake?.addEventListener("release", () => (awake = null));
        }
        if (!wanted) await awake?.release();
    } catch {
        awake = null;
    }
};
document.addEventListener("visibilitychange", rouse);
globalThis.halfsplitAwake = (now) => {
    wanted = now;
    rouse();
};

try {
    const { default: init } = await glue;
    await init({ module_or_path: program });
} catch (error) {
    const starting = document.getElementById("starting");
    if (starting) {
        starting.textContent =
            "halfsplit could not start: " + error + ". A browser of the last three years is needed; reload the page to try again.";
    }
    throw error;
}

// Only now, so that fetching all of it once more does not keep the page from coming up.
if ("serviceWorker" in navigator) {
    navigator.serviceWorker
        .register(here("../../sw.js"))
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
