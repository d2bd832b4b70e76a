import { isObject } from './draft.ts';

/** A JSON Schema as the job's schema gives it; only what stands in that is known here. */
export interface Node {
  readonly description?: string;
  readonly type?: string | readonly string[];
  readonly enum?: readonly string[];
  readonly const?: string | number;
  readonly properties?: Readonly<Record<string, Node>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: Node | boolean;
  readonly items?: Node | boolean;
  readonly prefixItems?: readonly Node[];
  readonly anyOf?: readonly Node[];
}

/** How a value is asked for. */
export type Asked =
  | { readonly as: 'text' | 'number' | 'yes-no' }
  | { readonly as: 'choice'; readonly of: readonly (string | number)[] }
  | {
      readonly as: 'fields';
      readonly of: Readonly<Record<string, Node>>;
      readonly required: readonly string[];
    }
  /** Entries by name, each asked for alike. */
  | { readonly as: 'named'; readonly each: Node }
  | { readonly as: 'pair'; readonly of: readonly Node[] }
  /** Words in one field with commas between. */
  | { readonly as: 'words' }
  | { readonly as: 'ticks'; readonly of: readonly string[] }
  | { readonly as: 'rows'; readonly each: Node }
  | { readonly as: 'one-of'; readonly forms: readonly Node[] };

export function askedAs(node: Node): Asked {
  if (node.anyOf !== undefined) {
    const consts = node.anyOf.flatMap((each) => (each.const === undefined ? [] : [each.const]));
    if (consts.length === node.anyOf.length) return { as: 'choice', of: consts };
    return { as: 'one-of', forms: node.anyOf.flatMap(asForms) };
  }
  if (node.enum !== undefined) return { as: 'choice', of: node.enum };
  if (node.const !== undefined) return { as: 'choice', of: [node.const] };
  if (Array.isArray(node.type)) return { as: 'text' };
  switch (node.type) {
    case 'number':
    case 'integer':
      return { as: 'number' };
    case 'boolean':
      return { as: 'yes-no' };
    case 'array': {
      if (node.prefixItems !== undefined) return { as: 'pair', of: node.prefixItems };
      const each = node.items as Node;
      if (each.enum !== undefined) return { as: 'ticks', of: each.enum };
      return each.type === 'object' || each.type === 'array' || each.anyOf !== undefined
        ? { as: 'rows', each }
        : { as: 'words' };
    }
    case 'object':
      return node.properties === undefined
        ? { as: 'named', each: node.additionalProperties as Node }
        : { as: 'fields', of: node.properties, required: node.required ?? [] };
    default:
      return { as: 'text' };
  }
}

/** Each word of a list of words is a form of its own. */
function asForms(node: Node): Node[] {
  return node.enum === undefined ? [node] : node.enum.map((word) => ({ type: 'string', const: word }));
}

/** Which form of several a value has; -1: none (yet). */
export function formOf(forms: readonly Node[], value: unknown): number {
  if (value === undefined) return -1;
  const exact = forms.findIndex((each) => each.const !== undefined && each.const === value);
  if (exact >= 0) return exact;
  if (isObject(value)) {
    return forms.findIndex(({ properties, required = [] }) => {
      if (properties === undefined) return false;
      const fixed = Object.entries(properties).filter(
        ([, each]) => each.const !== undefined && required.length > 0,
      );
      const told = fixed.filter(([key]) => required.includes(key));
      return told.length > 0
        ? told.every(([key, each]) => value[key] === each.const)
        : required.some((key) => Object.hasOwn(value, key));
    });
  }
  return forms.findIndex((each) => each.properties === undefined && each.const === undefined);
}

/** What a form begins with: its fixed words, and what it needs left blank. */
export function beginning(node: Node): unknown {
  if (node.const !== undefined) return node.const;
  const asked = askedAs(node);
  switch (asked.as) {
    case 'fields':
      return Object.fromEntries(asked.required.map((key) => [key, beginning(asked.of[key]!)] as const));
    case 'pair':
      return asked.of.map(() => '');
    case 'words':
    case 'ticks':
    case 'rows':
      return [];
    case 'named':
      return {};
    default:
      return '';
  }
}

/** What to call a form of several: its fixed word, else what it needs first, else what it is. */
export function formName(node: Node, labelOf: (key: string) => string): string {
  if (node.const !== undefined) return String(node.const);
  const fixed = Object.values(node.properties ?? {}).find((each) => each.const !== undefined);
  const [first] = node.required ?? [];
  if (fixed !== undefined && node.required?.includes('method')) return String(fixed.const);
  if (first !== undefined) {
    const needs = node.required!.filter((key) => key !== 'line');
    if (node.properties?.holds !== undefined) return 'its station and what it holds';
    return labelOf(needs[0] ?? first);
  }
  return 'a length';
}
