import { useSyncExternalStore } from 'react';

/** A value many can watch. */
export interface Store<T> {
  get(): T;
  set(next: T): void;
  update(change: (now: T) => T): void;
  watch(listener: () => void): () => void;
}

export function createStore<T>(first: T): Store<T> {
  let value = first;
  const listeners = new Set<() => void>();
  const store: Store<T> = {
    get: () => value,
    set: (next) => {
      if (Object.is(next, value)) return;
      value = next;
      for (const listener of [...listeners]) listener();
    },
    update: (change) => store.set(change(value)),
    watch: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
  return store;
}

/** A part of a store in a component; `part` must give the same value for the same state. */
export function useStore<T, P = T>(store: Store<T>, part?: (value: T) => P): P {
  return useSyncExternalStore(store.watch, () => (part === undefined ? (store.get() as unknown as P) : part(store.get())));
}
