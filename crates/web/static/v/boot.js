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
