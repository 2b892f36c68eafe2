/** Every English string of the load book, a file per page. Functions take values already formatted for the reader’s locale. */

import { answer } from './answer.ts';
import { ask } from './ask.ts';
import { backup } from './backup.ts';
import { common } from './common.ts';
import { fields } from './fields.ts';
import { now } from './now.ts';
import { rows } from './rows.ts';
import { safety } from './safety.ts';
import { setup } from './setup.ts';
import { tickets } from './tickets.ts';
import { totals } from './totals.ts';

export const book = {
	...common,
	...now,
	...ask,
	...answer,
	...tickets,
	...rows,
	...totals,
	...fields,
	...backup,
	...setup,
	...safety,
};
