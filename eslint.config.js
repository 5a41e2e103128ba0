import tseslint from 'typescript-eslint';
import { importRule } from './lint/import-rule.js';

const PURE = ['base', 'geo', 'water', 'boat', 'lines', 'depths', 'imagery', 'rehearse', 'finds', 'meadow', 'formats', 'proving'];

export default tseslint.config(
  { ignores: ['dist/', 'node_modules/', 'coverage/', 'demo/', 'bench/.work/'] },
  ...tseslint.configs.recommended,
  {
    files: ['src/**/*.ts', 'src/**/*.tsx'],
    plugins: { tallow: { rules: { 'import-rule': importRule } } },
    rules: {
      'tallow/import-rule': 'error',
      '@typescript-eslint/no-explicit-any': 'error',
      '@typescript-eslint/consistent-type-imports': 'error',
      'max-lines': ['warn', { max: 500, skipBlankLines: true, skipComments: true }],
    },
  },
  {
    files: PURE.map((room) => `src/${room}/**/*.ts`),
    rules: {
      'no-restricted-globals': [
        'error',
        ...['process', 'Buffer', 'window', 'document', 'fetch', 'console', 'localStorage', 'navigator', 'setTimeout', 'setInterval', 'require'].map((name) => ({
          name,
          message: 'pure rooms know nothing of the outside: pass it in',
        })),
      ],
      'no-restricted-properties': [
        'error',
        { object: 'Math', property: 'random', message: 'pass a seeded generator in' },
        { object: 'Date', property: 'now', message: 'pass the time in' },
      ],
    },
  },
);
