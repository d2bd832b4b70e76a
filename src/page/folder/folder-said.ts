/** What came of writing into the job folder, or of taking in what is there. */
export type FolderSaid =
  | { readonly kind: 'none' }
  | { readonly kind: 'same' }
  /** Open again; what is keyed here is not in it yet. */
  | { readonly kind: 'opened' }
  | {
      readonly kind: 'written';
      readonly files: readonly string[];
      readonly records: number;
      readonly seal: string;
    }
  | { readonly kind: 'changed'; readonly changes: readonly string[]; readonly twice: readonly number[] }
  | { readonly kind: 'taken'; readonly apart: readonly string[] }
  | { readonly kind: 'busy'; readonly file: string; readonly since: string | null }
  | { readonly kind: 'held-up' }
  | { readonly kind: 'not-as-written'; readonly file: string };
