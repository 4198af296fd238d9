/* The name that can honestly be written: the finest that is sure enough, its doubt in open nomenclature. */

const TREE = TABLES.tree;
const rankIndex = (taxon) => TREE.ranks.indexOf(TREE.rank_of[taxon]);
const isWithin = (taxon, asked) => TREE.lineages[taxon].includes(asked);

/** Probability of every taxon of the tree, the finest first: a list of [taxon, share]. */
function rollUp(p) {
  const total = new Map();
  TABLES.taxa.forEach((taxon, place) => {
    for (const step of TREE.lineages[taxon]) total.set(step, (total.get(step) || 0) + p[place]);
  });
  total.delete(TREE.other);
  return [...total].sort((a, b) => rankIndex(a[0]) - rankIndex(b[0]));
}

const firstText = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

/** Climb from the finest rank until the probability reaches the threshold. */
function honestName(p) {
  const total = rollUp(p);
  const reached = total.filter(([, share]) => share >= RULES.threshold - 1e-9)
    .sort((a, b) => rankIndex(a[0]) - rankIndex(b[0]) || b[1] - a[1] || firstText(a[0], b[0]));
  const taxon = reached.length ? reached[0][0] : total[total.length - 1][0];
  const near = total.filter(([name, share]) =>
    ["species", "subspecies"].includes(TREE.rank_of[name]) && share >= RULES.cf_from && name !== taxon
    && isWithin(name, taxon) && !name.includes(" x "))
    .sort((a, b) => b[1] - a[1] || firstText(b[0], a[0]));
  const shares = new Map(total);
  const compared = near.length ? near[0][0] : null;
  return {
    taxon,
    rank: TREE.rank_of[taxon],
    p: Math.min(shares.get(taxon), 1),
    compared,
    pCompared: compared ? shares.get(compared) : null,
    written: writtenName(taxon, compared),
  };
}

function writtenName(taxon, compared) {
  const scientific = TREE.lineages[taxon].find((step) => TREE.rank_of[step] !== "group" && !step.includes(" x "));
  const start = `${scientific} `;
  const rest = (name) => (name.startsWith(start) ? name.slice(start.length) : name);
  if (compared) {
    const qualifier = `cf. ${rest(compared)}`;
    return compared.startsWith(start) ? `${start}${qualifier}` : `${start}indet. (${qualifier})`;
  }
  if (TREE.rank_of[taxon] === "group") return `${start}sp. (${taxon})`;
  if (taxon.includes(" x ")) return `${start}(${rest(taxon)})`;
  return taxon + ({genus: " sp.", family: " indet.", order: " indet."}[TREE.rank_of[taxon]] || "");
}
