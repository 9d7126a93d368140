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
const after = (lines) => (lines.length === 0 ? 0 : lines[lines.length - 1].number + 1);
const textOf = (lines) => lines.map((l) => l.line + "\n").join("");
const all = (store) => transact("readonly", [store], (t) => t.objectStore(store).getAll());
const one = (store, key) => transact("readonly", [store], (t) => t.objectStore(store).get(key));
const put = (store, value) => transact("readwrite", [store], (t) => t.objectStore(store).put(value));
const drop = (store, key) => transact("readwrite", [store], (t) => t.objectStore(store).delete(key));

// Lines of the job that is open: on their way to the store when this returns. With a job's first line it becomes the
// one that is open, in the same transaction.
function keep(db, lines, first) {
    const work = (t) => {
        const all = first ? [first.line, ...lines] : lines;
        all.forEach((line, i) => t.objectStore("lines").put({ job, number: number + i, line }));
        if (first) {
            t.objectStore("jobs").put({ job, ...first.note });
            t.objectStore("small").put({ key: "open", value: job });
        }
    };
    return inStore(db, "readwrite", first ? ["lines", "jobs", "small"] : ["lines"], work, "strict");
}

// What was shown last, so that a reload has something to show while it is worked out again. It follows from the
// lines: nobody waits for it, and where it cannot be kept, nothing is lost but the wait.
function remember(db, shown) {
    inStore(db, "readwrite", ["views"], (t) => t.objectStore("views").put(shown), "relaxed").catch(() => {});
}

// What the engine computes; how long that took goes with the next answer, for whoever measures.
let computed = 0;
function compute(question) {
    const began = performance.now();
    const said = answer(JSON.stringify(question));
    computed += performance.now() - began;
    return said;
}
const ask = (question) => JSON.parse(compute(question));

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

// Keeps line after line until there is something to show, and gives that as text. While the store writes a line, the
// engine already works out what follows from it; that is told only when all are kept. A later line takes the earlier ones
// with it into the store once more: so there is never one without what it follows from, and nobody waits for two
// transactions one after the other.
async function through(said, hand) {
    if (lineOf(said) === undefined) return said;
    const db = await database;
    const lines = [];
    let keeping;
    for (let line = lineOf(said); line !== undefined; line = lineOf(said)) {
        lines.push(line);
        keeping = keep(db, lines, begun);
        // Only the last of them decides, which holds all.
        keeping.catch(() => {});
        said = compute({ ask: "taken", hand });
    }
    try {
        await keeping;
    } catch (error) {
        await back();
        return JSON.stringify(notKept(error));
    }
    number += lines.length + (begun ? 1 : 0);
    begun = null;
    return said;
}

// An answer is a line to keep and nothing else, or none.
const lineOf = (said) => (said.startsWith('{"line":') ? JSON.parse(said).line : undefined);
const shows = (said) => said.startsWith('{"view":');

// Has the engine's job be what is kept of it, and no more.
async function back() {
    const lines = await linesOf(job);
    if (lines.length === 0) {
        ask({ ask: "begin", job });
        return;
    }
    begun = null;
    number = after(lines);
    const practice = (await one("jobs", job))?.practice ?? null;
    ask({ ask: "go_on", practice, text: textOf(lines) });
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

// An answer as an object, or as text where the engine's own needs nothing more. What is only looked up in the store, or
// put there, does not wait for the engine.
async function serve(question, blob) {
    switch (question.ask) {
        case "jobs":
            return { jobs: await all("jobs") };
        case "journal":
            return { text: textOf(await linesOf(question.job)) };
        case "last_view":
            return { last_view: JSON.parse((await one("views", question.job))?.said ?? "{}").view ?? null };
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
            drafted = null;
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
            return through(compute(question), question.hand);
        }
        case "go_on": {
            const lines = await linesOf(question.job);
            drafted = null;
            job = question.job;
            begun = null;
            number = after(lines);
            const practice = (await one("jobs", job))?.practice ?? null;
            const said = ask({ ...question, practice, text: textOf(lines) });
            if (said.error === undefined) await put("small", { key: "open", value: job }).catch(() => {});
            const { damage = [], left = [], line } = said;
            const shown = line === undefined ? said : JSON.parse(await through(JSON.stringify({ line }), question.hand));
            return { ...shown, practice: practice !== null, damage, left };
        }
        case "suppose":
            supposed = question;
            return {};
        case "draft": {
            const own = await one("sheets", question.event.machine);
            if (own) question.event.sheet_text = own.text;
            drafted = { ...question, part: 0 };
            return {};
        }
        default:
            return through(compute(question), question.hand);
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
        const asked = JSON.parse(question);
        let said;
        try {
            said = await serve(asked, blob);
        } catch (error) {
            said = { error: { what: String(error), do: "reload the page; what was entered is kept" } };
        }
        waiting -= 1;
        const { blob: found, ...rest } = typeof said === "string" ? {} : said;
        const text = typeof said === "string" ? said : JSON.stringify(rest);
        self.postMessage({ id, answer: text, blob: found, computed });
        computed = 0;
        engine();
        if (typeof said === "string" ? shows(said) : asked.ask === "go_on" && said.view !== undefined) {
            remember(await database, { job, said: text });
            part = 0;
            supposed = null;
        }
        soon(asked.ask === "suppose" || asked.ask === "draft" ? 0 : 300);
    });
};

// While somebody is at the machine nobody waits: time to work out what his reading will need. Part by part, so that an
// entry waits for no more than one of them. What stands in the field already comes first: it is mostly what will be
// entered. Before a job is open, the same goes for its opening as it is filled in.
let part = null;
let supposed = null;
let drafted = null;
let timer = 0;
function soon(milliseconds) {
    clearTimeout(timer);
    if (part !== null || supposed !== null || drafted !== null) timer = setTimeout(ahead, milliseconds);
}
function ahead() {
    if (waiting > 0) return;
    if (supposed !== null) {
        compute(supposed);
        supposed = null;
    } else if (drafted !== null) {
        const { more } = ask(drafted);
        drafted = more === true ? { ...drafted, part: drafted.part + 1 } : null;
    } else {
        const { more } = ask({ ask: "think_ahead", part });
        part = more === true ? part + 1 : null;
    }
    computed = 0;
    soon(0);
}
