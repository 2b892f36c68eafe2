/**
 * Sheets over the page and the device's Back key: while any is open, one step of the browser's history stands for it,
 * so that Back closes the sheet and not the page. A sheet with unsaved input asks first.
 */

interface Open {
	/** Called on Back: closes the sheet, or stays open and asks. */
	leave: () => void;
}
const open: Open[] = [];
const MARK = 'sheet';

addEventListener('popstate', () => {
	const top = open.at(-1);
	if (!top) return;
	top.leave();
	// Whether it closed or asks: while one is open, Back must have something to close.
	setTimeout(settle, 0);
});

function settle(): void {
	const marked = (history.state as { [MARK]?: boolean } | null)?.[MARK] === true;
	if (open.length > 0 && !marked) history.pushState({ [MARK]: true }, '');
	if (open.length === 0 && marked) history.back();
}

/** Registers an open sheet. Returns the function to call once it is closed. */
export function sheetOpened(leave: () => void): () => void {
	const own = { leave };
	open.push(own);
	setTimeout(settle, 0);
	return () => {
		open.splice(open.indexOf(own), 1);
		// Another sheet may open in the same moment.
		setTimeout(settle, 0);
	};
}
