/** `transient`: trying again later may work, so the service keeps trying. `permanent`: nothing changes until a person acts. */
export type Lasting = 'transient' | 'permanent';

/** One row of the catalogue. `{name}` in either text is filled from the parameters. */
export type CatalogueEntry = {
  readonly template: string;
  readonly whatToDo: string;
  readonly lasting: Lasting;
};

/** The rows of one area, keyed by code. A code is never given a new meaning once released. */
export type CatalogueArea = Readonly<Record<`SW-${string}-${number}`, CatalogueEntry>>;

/** Names between braces in a text, e.g. `url` in "The hub at {url}". */
export type PlaceholdersOf<T extends string> = T extends `${string}{${infer Name}}${infer Rest}`
  ? Name | PlaceholdersOf<Rest>
  : never;
