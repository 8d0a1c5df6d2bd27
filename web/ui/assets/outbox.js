// The outbox: notes that were said and are not answered yet, kept in IndexedDB, so that
// neither a reload nor an empty battery loses one. A note leaves it when its answer is
// here, or when the technician drops a refused one.
//
// A note is {id, job, person, text, at, late, refused, of, open}: person who said it, "" where nobody
// gave a name; late if it was said with the line down, refused the server's reason if it
// kept nothing of it; of is the number of the note whose words it puts right; open if it comes from an
// open microphone. One that was spoken has its sound and how many seconds that lasts, and
// no text. A photo that is not sent yet lies here too: {id, job, person, of, at, bytes}, of the
// note's id, bytes the JPEG.

const name = "readback";
const memory = new Map(); // where the browser has no IndexedDB

let opened;

// open resolves to null where this browser keeps nothing.
function open() {
  opened ??= new Promise((resolve) => {
    let request;
    try {
      request = indexedDB.open(name, 1);
    } catch {
      resolve(null);
      return;
    }
    request.onupgradeneeded = () => {
      request.result.createObjectStore("notes", { keyPath: "id" }).createIndex("job", "job");
      request.result.createObjectStore("sheets", { keyPath: "job" });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => resolve(null);
    request.onblocked = () => resolve(null);
  });
  return opened;
}

// keeps reports whether what is put here outlives the page.
export const keeps = async () => (await open()) !== null;

async function run(store, mode, work, durability = "default") {
  const db = await open();
  return new Promise((resolve, reject) => {
    const t = db.transaction(store, mode, { durability });
    const request = work(t.objectStore(store));
    t.oncomplete = () => resolve(request?.result);
    t.onabort = () => reject(t.error);
    t.onerror = () => reject(t.error);
  });
}

// put keeps a note; when it resolves, the note is on the disk.
export async function put(note) {
  if (!(await open())) memory.set(note.id, note);
  else await run("notes", "readwrite", (s) => s.put(note), "strict");
}

export async function remove(id) {
  if (!(await open())) memory.delete(id);
  else await run("notes", "readwrite", (s) => s.delete(id));
}

// list returns a job's notes in the order in which they were made.
export async function list(job) {
  const all = (await open())
    ? await run("notes", "readonly", (s) => s.index("job").getAll(job))
    : [...memory.values()].filter((n) => n.job === job);
  return all.sort((a, b) => (a.id < b.id ? -1 : 1));
}

// remember keeps the sheet as it was last seen, to show it when the line is down.
export async function remember(job, sheet) {
  if (await open()) await run("sheets", "readwrite", (s) => s.put({ ...sheet, job }), "relaxed");
}

export async function recall(job) {
  return (await open()) ? run("sheets", "readonly", (s) => s.get(job)) : undefined;
}
