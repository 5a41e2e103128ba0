import { defineConfig } from 'vite';
import react from '@vitejs/plugin-react';

// The page is served from the loopback server under "default-src 'self'": every file it needs is in this folder, none is
// inlined as a data: URL, and nothing runs inline.
export default defineConfig({
  root: 'src/page',
  base: './',
  plugins: [react()],
  build: {
    outDir: '../../dist/page',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1500,
  },
  worker: { format: 'es' },
});
