// How far two results differ: what must be the same, and how close the numbers are.

/**
 * Compares two JSON values. `differing` has the paths of everything but numbers that differs; `largest` is the largest relative
 * difference of two numbers, `at` where it is.
 */
export function difference(one, other, path = "", found = { differing: [], largest: 0, at: "" }) {
  if (typeof one === "number" && typeof other === "number") {
    const scale = Math.max(Math.abs(one), Math.abs(other));
    const relative = scale > 0 ? Math.abs(one - other) / scale : 0;
    if (relative > found.largest) Object.assign(found, { largest: relative, at: `${path}: ${one} and ${other}` });
  } else if (one !== null && other !== null && typeof one === "object" && typeof other === "object") {
    for (const key of new Set([...Object.keys(one), ...Object.keys(other)])) difference(one[key], other[key], `${path}/${key}`, found);
  } else if (one !== other) found.differing.push([path, one, other]);
  return found;
}
