import '@fontsource/barlow-semi-condensed/latin-400.css';
import '@fontsource/barlow-semi-condensed/latin-500.css';
import '@fontsource/barlow-semi-condensed/latin-600.css';
import '@fontsource/barlow-semi-condensed/latin-500-italic.css';
import './style/tokens.css';
import './style/table.css';
import './style/sheet.css';
import './style/trials.css';
import './style/depths.css';
import './style/imagery.css';
import './style/print.css';
import { createRoot } from 'react-dom/client';
import { App } from './app.js';
import { follow, refresh } from './state/actions.js';
import { keepScreen, screen } from './state/stores.js';

keepScreen(localStorage);
const dress = () => {
  document.documentElement.dataset['palette'] = screen.get().dusk ? 'dusk' : 'day';
};
dress();
screen.watch(dress);

// On paper the day palette is the one to have.
let duskBefore = false;
addEventListener('beforeprint', () => {
  duskBefore = screen.get().dusk;
  if (duskBefore) screen.update((now) => ({ ...now, dusk: false }));
});
addEventListener('afterprint', () => {
  if (duskBefore) screen.update((now) => ({ ...now, dusk: true }));
});

const place = document.getElementById('table');
if (place === null) throw new Error('index.html has no element with id "table"');
createRoot(place).render(<App />);
void refresh();
follow();
