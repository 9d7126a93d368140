// The engine's worker: messages that come before it is ready wait.
import init, { take } from "./engine.js";

const waiting = [];
self.onmessage = (event) => waiting.push(event.data);
await init({ module_or_path: new URL("engine_bg.wasm", import.meta.url) });
self.onmessage = (event) => take(event.data);
waiting.forEach(take);
