/** A step into a JSON value: a key of an object, or a place in a list. */
export type Step = string | number;
export type Path = readonly Step[];

export function isObject(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** What stands at a path; undefined where nothing does. */
export function valueAt(root: unknown, path: Path): unknown {
  let value = root;
  for (const step of path) {
    if (typeof step === 'number') value = Array.isArray(value) ? value[step] : undefined;
    else value = isObject(value) && Object.hasOwn(value, step) ? value[step] : undefined;
  }
  return value;
}

/** The same value with another one at a path, objects and lists on the way made where there are none; undefined takes it out. */
export function withValue(root: unknown, path: Path, value: unknown): unknown {
  const [step, ...rest] = path;
  if (step === undefined) return value;
  if (typeof step === 'number') {
    const list = Array.isArray(root) ? [...root] : [];
    const next = withValue(list[step], rest, value);
    if (next === undefined) list.splice(step, 1);
    else list[step] = next;
    return list;
  }
  const object: Record<string, unknown> = isObject(root) ? { ...root } : {};
  const next = withValue(object[step], rest, value);
  if (next === undefined) delete object[step];
  else object[step] = next;
  return object;
}

/** An object with one key renamed, in its place. */
export function renamed(root: unknown, path: Path, from: string, to: string): unknown {
  const object = valueAt(root, path);
  if (!isObject(object)) return root;
  const entries = Object.entries(object).map(([key, value]) => [key === from ? to : key, value]);
  return withValue(root, path, Object.fromEntries(entries));
}
