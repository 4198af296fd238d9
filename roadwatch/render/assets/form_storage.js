/* Records in the browser: IndexedDB, written through to the disk; where that fails, the page's memory, and it says so. */

/**
 * How far the browser can be trusted with records:
 * "kept" an earlier opening is remembered; "first" writing works, keeping is not shown yet;
 * "lost" an earlier opening was remembered elsewhere and its records are gone; "memory" nothing can be written.
 */
class RecordStore {
  constructor(name, base) {
    this.name = name;
    this.base = base;
    this.kept = {records: new Map(), settings: new Map()};
    this.trust = base ? "first" : "memory";
  }

  static async open(name) {
    let store = new RecordStore(name, null);
    try {
      store = new RecordStore(name, await openBase(name));
      await store.probe();
    } catch (problem) {
      store = new RecordStore(name, null);
    }
    return store;
  }

  /** Write a mark, read it back, and see whether the mark of an earlier opening is still there. */
  async probe() {
    const before = (await this.setting("openings")) || 0;
    await this.keepSetting("openings", before + 1);
    if ((await this.setting("openings")) !== before + 1) throw new Error("what was written cannot be read");
    const elsewhere = markElsewhere(this.name, before + 1);
    this.trust = before > 0 ? "kept" : elsewhere ? "lost" : "first";
    if (navigator.storage && navigator.storage.persist) navigator.storage.persist().catch(() => false);
  }

  async write(table, entry, key) {
    this.kept[table].set(key, entry);
    if (!this.base) return;
    try {
      await finished(this.change(table, (rows) => rows.put(entry)));
    } catch (problem) {
      this.base = null;
      this.trust = "memory";
    }
  }

  change(table, act) {
    const transaction = this.base.transaction([table], "readwrite", {durability: "strict"});
    act(transaction.objectStore(table));
    return transaction;
  }

  keepRecord(record) {
    return this.write("records", record, record.id);
  }

  keepSetting(key, value) {
    return this.write("settings", {key, value}, key);
  }

  async setting(key) {
    if (!this.base) return this.kept.settings.get(key)?.value;
    const found = await answered(this.base.transaction(["settings"]).objectStore("settings").get(key));
    return found?.value;
  }

  async records() {
    if (!this.base) return [...this.kept.records.values()];
    const found = await answered(this.base.transaction(["records"]).objectStore("records").getAll());
    return found.sort((a, b) => (a.saved_at < b.saved_at ? -1 : 1));
  }

  async dropRecords(ids) {
    ids.forEach((id) => this.kept.records.delete(id));
    if (this.base) await finished(this.change("records", (rows) => ids.forEach((id) => rows.delete(id))));
  }
}

function openBase(name) {
  return new Promise((done, failed) => {
    const request = indexedDB.open(name, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("records", {keyPath: "id"});
      request.result.createObjectStore("settings", {keyPath: "key"});
    };
    request.onsuccess = () => done(request.result);
    request.onerror = request.onblocked = () => failed(request.error);
  });
}

const answered = (request) => new Promise((done, failed) => {
  request.onsuccess = () => done(request.result);
  request.onerror = () => failed(request.error);
});

const finished = (transaction) => new Promise((done, failed) => {
  transaction.oncomplete = () => done();
  transaction.onerror = transaction.onabort = () => failed(transaction.error);
});

/** The number of an earlier opening that the browser's other store remembers, 0 where none; the new one is left there. */
function markElsewhere(name, opening) {
  try {
    const before = Number(localStorage.getItem(name)) || 0;
    localStorage.setItem(name, String(opening));
    return before;
  } catch (problem) {
    return 0;
  }
}
