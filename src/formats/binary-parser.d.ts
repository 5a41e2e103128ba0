/** The library's own types cannot be found through its exports; what we use of it. */
declare module 'binary-parser' {
  export class Parser {
    /** A number at a fixed place from the beginning. */
    pointer(name: string, options: { readonly type: string; readonly offset: number }): this;
    parse(bytes: Uint8Array): unknown;
  }
}
