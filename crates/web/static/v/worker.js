// The engine's worker. A line of the journal is in the browser's store, flushed, before what follows from it is told.
import init, { answer } from "./engine.js";

const database = new Promise((resolve, reject) => {
    const opening = indexedDB.open("halfsplit", 2);
    opening.onupgradeneeded = ({ oldVersion }) => {
        if (oldVersion < 1) {
            opening.result.createObjectStore("lines", { keyPath: ["job", "number"] });
            opening.result.createObjectStore("jobs", { keyPath: "job" });
        }
        if (oldVersion < 2) opening.result.createObjectStore("views", { keyPath: "job" });
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
    const db = await database;
    return new Promise((resolve, reject) => {
        const transaction = db.transaction(stores, mode, { durability: "strict" });
        const request = work(transaction);
        transaction.oncomplete = () => resolve(request?.result);
        transaction.onabort = transaction.onerror = () => reject(transaction.error);
    });
}

let job = "";
let number = 0;

const linesOf = (name) =>
    transact("readonly", ["lines"], (t) => t.objectStore("lines").getAll(IDBKeyRange.bound([name, 0], [name, Infinity])));

async function keep(line, note) {
    await transact("readwrite", ["lines", "jobs"], (t) => {
        t.objectStore("lines").add({ job, number, line });
        if (note) t.objectStore("jobs").put({ job, ...note });
    });
    number += 1;
}

// What was shown last, so that a reload has something to show while it is worked out again. It follows from the
// lines: where it cannot be kept, nothing is lost but the wait.
async function remember(said) {
    if (said.view === undefined) return;
    await transact("readwrite", ["views"], (t) => t.objectStore("views").put({ job, view: said.view })).catch(() => {});
}

const ask = (question) => JSON.parse(answer(JSON.stringify(question)));

// Keeps line after line until there is something to show.
async function through(said, hand) {
    while (said.line !== undefined) {
        try {
            await keep(said.line);
        } catch (error) {
            ask({ ask: "not_taken" });
            const full = error?.name === "QuotaExceededError";
            return {
                error: {
                    what: full ? "this device has no room left for the job" : "the entry could not be kept: " + error,
                    do: full ? "nothing was entered; free some space, then enter it again" : "nothing was entered; reload the page, then enter it again",
                },
            };
        }
        said = ask({ ask: "taken", hand });
    }
    await remember(said);
    return said;
}

// What is only looked up in the store does not wait for the engine.
async function serve(question) {
    switch (question.ask) {
        case "jobs":
            return { jobs: await transact("readonly", ["jobs"], (t) => t.objectStore("jobs").getAll()) };
        case "journal":
            return { text: (await linesOf(question.job)).map((l) => l.line + "\n").join("") };
        case "last_view": {
            const kept = await transact("readonly", ["views"], (t) => t.objectStore("views").get(question.job));
            return { last_view: kept?.view ?? null };
        }
    }
    await ready;
    switch (question.ask) {
        case "begin": {
            const said = ask(question);
            if (said.line === undefined) return said;
            job = question.job;
            number = 0;
            await keep(said.line, question.note);
            return { job };
        }
        case "go_on": {
            const lines = await linesOf(question.job);
            job = question.job;
            number = lines.length === 0 ? 0 : lines[lines.length - 1].number + 1;
            const said = ask({ ...question, text: lines.map((l) => l.line + "\n").join("") });
            return through(said, question.hand);
        }
        default:
            return through(ask(question), question.hand);
    }
}

// One after another: an entry is through before the next begins.
const ready = init({ module_or_path: new URL("engine_bg.wasm", import.meta.url) });
// Reported by the question that needs it.
ready.catch(() => {});
let before = Promise.resolve();
self.onmessage = ({ data: { id, question } }) => {
    before = before.then(async () => {
        let said;
        try {
            said = await serve(JSON.parse(question));
        } catch (error) {
            said = { error: { what: String(error), do: "reload the page; what was entered is kept" } };
        }
        self.postMessage({ id, answer: JSON.stringify(said) });
    });
};
