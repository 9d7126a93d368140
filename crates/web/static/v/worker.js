// The engine's worker. A line of the journal is in the browser's store, flushed, before what follows from it is told.
import init, { answer } from "./engine.js";

const database = new Promise((resolve, reject) => {
    const opening = indexedDB.open("halfsplit", 3);
    opening.onupgradeneeded = ({ oldVersion }) => {
        if (oldVersion < 1) {
            opening.result.createObjectStore("lines", { keyPath: ["job", "number"] });
            opening.result.createObjectStore("jobs", { keyPath: "job" });
        }
        if (oldVersion < 2) opening.result.createObjectStore("views", { keyPath: "job" });
        if (oldVersion < 3) {
            opening.result.createObjectStore("small", { keyPath: "key" });
            opening.result.createObjectStore("photos", { keyPath: "hash" });
            opening.result.createObjectStore("sheets", { keyPath: "id" });
        }
    };
    opening.onsuccess = () => {
        // A newer version of the app in another tab must not wait for this one.
        opening.result.onversionchange = () => opening.result.close();
        resolve(opening.result);
    };
    opening.onerror = () => reject(opening.error);
});
// Asked for too early it would be reported as nobody's; every use reports it again.
database.catch(() => {});

// Runs one transaction; what it gives is there when the transaction is through.
async function transact(mode, stores, work) {
    return inStore(await database, mode, stores, work, "strict");
}

// The same with a database that is open: on its way to the store when this returns.
function inStore(db, mode, stores, work, durability) {
    return new Promise((resolve, reject) => {
        const transaction = db.transaction(stores, mode, { durability });
        const request = work(transaction);
        transaction.oncomplete = () => resolve(request?.result);
        transaction.onabort = transaction.onerror = () => reject(transaction.error);
        transaction.commit();
    });
}

let job = "";
let number = 0;
// A job that has been begun but not opened: its first line goes to the store with the second.
let begun = null;

const linesOf = (name) =>
    transact("readonly", ["lines"], (t) => t.objectStore("lines").getAll(IDBKeyRange.bound([name, 0], [name, Infinity])));
const textOf = (lines) => lines.map((l) => l.line + "\n").join("");
const all = (store) => transact("readonly", [store], (t) => t.objectStore(store).getAll());
const one = (store, key) => transact("readonly", [store], (t) => t.objectStore(store).get(key));
const put = (store, value) => transact("readwrite", [store], (t) => t.objectStore(store).put(value));
const drop = (store, key) => transact("readwrite", [store], (t) => t.objectStore(store).delete(key));

// With a job's first lines it becomes the one that is open, in the same transaction.
async function keep(db, line) {
    const first = begun;
    const work = (t) => {
        const lines = first ? [first.line, line] : [line];
        lines.forEach((line, i) => t.objectStore("lines").add({ job, number: number + i, line }));
        if (first) {
            t.objectStore("jobs").put({ job, ...first.note });
            t.objectStore("small").put({ key: "open", value: job });
        }
    };
    await inStore(db, "readwrite", ["lines", "jobs", "small"], work, "strict");
    number += first ? 2 : 1;
    begun = null;
}

// What was shown last, so that a reload has something to show while it is worked out again. It follows from the
// lines: nobody waits for it, and where it cannot be kept, nothing is lost but the wait.
function remember(db, said) {
    if (said.view === undefined) return;
    const shown = { job, view: said.view };
    inStore(db, "readwrite", ["views"], (t) => t.objectStore("views").put(shown), "relaxed").catch(() => {});
}

// What the engine computes; how long that took goes with the next answer, for whoever measures.
let computed = 0;
function ask(question) {
    const began = performance.now();
    const said = JSON.parse(answer(JSON.stringify(question)));
    computed += performance.now() - began;
    return said;
}

// What could not be kept, in words. What was typed stays on the page.
function notKept(error) {
    const full = error?.name === "QuotaExceededError";
    return {
        error: {
            full,
            what: full ? "This device has no room left: the entry is not kept." : "The entry could not be kept: " + error,
            do: full
                ? "Nothing was entered, and what you typed still stands here. Free some space on the device (photos, other apps), then enter it again."
                : "Nothing was entered; reload the page, then enter it again.",
        },
    };
}

// Keeps line after line until there is something to show. While the store writes a line, the engine works out what
// follows from it; that is told only when the line is kept, and forgotten where it could not be.
async function through(said, hand) {
    const db = await database;
    while (said.line !== undefined) {
        const keeping = keep(db, said.line);
        keeping.catch(() => {});
        said = ask({ ask: "taken", hand });
        try {
            await keeping;
        } catch (error) {
            await back();
            return notKept(error);
        }
    }
    remember(db, said);
    return said;
}

// Has the engine's job be what is kept of it, and no more.
async function back() {
    if (begun !== null) {
        ask({ ask: "begin", job });
        return;
    }
    const practice = (await one("jobs", job))?.practice ?? null;
    ask({ ask: "go_on", practice, text: textOf(await linesOf(job)) });
    ask({ ask: "not_taken" });
}

async function kept(work) {
    try {
        await work;
        return {};
    } catch (error) {
        return notKept(error);
    }
}

// What is only looked up in the store, or put there, does not wait for the engine.
async function serve(question, blob) {
    switch (question.ask) {
        case "jobs":
            return { jobs: await all("jobs") };
        case "journal":
            return { text: textOf(await linesOf(question.job)) };
        case "last_view":
            return { last_view: (await one("views", question.job))?.view ?? null };
        case "start": {
            const [small, jobs] = await Promise.all([all("small"), all("jobs")]);
            return { small: Object.fromEntries(small.map((s) => [s.key, s.value])), jobs };
        }
        case "remember":
            return kept(put("small", { key: question.key, value: question.value }));
        case "keep_photo":
            return kept(put("photos", { hash: question.hash, blob }));
        case "photo":
            return { blob: (await one("photos", question.hash))?.blob ?? null };
        case "keep_sheet":
            return kept(put("sheets", { id: question.id, text: question.text }));
        case "drop_sheet":
            return kept(drop("sheets", question.id));
        case "sheet": {
            const own = await one("sheets", question.name);
            if (own) return { text: own.text };
        }
    }
    if (question.ask === "machines") {
        // Those that come with the app are known without the engine.
        question.own = await all("sheets");
        if (question.own.length === 0) return {};
    }
    await engine();
    switch (question.ask) {
        case "machines":
            return ask(question);
        case "begin": {
            const said = ask(question);
            if (said.line === undefined) return said;
            job = question.job;
            number = 0;
            begun = { line: said.line, note: question.note };
            return { job };
        }
        case "event": {
            if (question.sure === false) {
                const { test, as_typed: reading } = question.event.with;
                const odd = ask({ ask: "check_reading", test, reading, hand: question.hand });
                if (odd.error || odd.ask_back) return odd;
            }
            const own = question.event.machine && (await one("sheets", question.event.machine));
            if (own) question.event.sheet_text = own.text;
            return through(ask(question), question.hand);
        }
        case "go_on": {
            const lines = await linesOf(question.job);
            job = question.job;
            begun = null;
            number = lines.length === 0 ? 0 : lines[lines.length - 1].number + 1;
            const practice = (await one("jobs", job))?.practice ?? null;
            const said = ask({ ...question, practice, text: textOf(lines) });
            if (said.error === undefined) await put("small", { key: "open", value: job }).catch(() => {});
            const shown = await through(said, question.hand);
            return { ...shown, practice: practice !== null, damage: said.damage ?? [], left: said.left ?? [] };
        }
        default:
            return through(ask(question), question.hand);
    }
}

// Fetched at once; compiled when the page is up and has its first answer, so as not to be in its way.
const program = fetch(new URL("engine_bg.wasm", import.meta.url));
// Reported by the question that needs it.
program.catch(() => {});
let ready = null;
function engine() {
    ready ??= init({ module_or_path: program });
    ready.catch(() => {});
    return ready;
}

// One after another: an entry is through before the next begins.
let before = Promise.resolve();
let waiting = 0;
self.onmessage = ({ data: { id, question, blob } }) => {
    waiting += 1;
    before = before.then(async () => {
        let said;
        try {
            said = await serve(JSON.parse(question), blob);
        } catch (error) {
            said = { error: { what: String(error), do: "reload the page; what was entered is kept" } };
        }
        waiting -= 1;
        const { blob: found, ...rest } = said;
        self.postMessage({ id, answer: JSON.stringify(rest), blob: found, computed });
        computed = 0;
        engine();
        if (said.view !== undefined) part = 0;
        soon(300);
    });
};

// While somebody is at the machine nobody waits: time to work out what his reading will need. Part by part, so that an
// entry waits for no more than one of them.
let part = null;
let timer = 0;
function soon(milliseconds) {
    clearTimeout(timer);
    if (part !== null) timer = setTimeout(ahead, milliseconds);
}
function ahead() {
    if (waiting > 0) return;
    const { more } = ask({ ask: "think_ahead", part });
    computed = 0;
    part = more === true ? part + 1 : null;
    soon(0);
}
