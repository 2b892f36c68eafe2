/**
 * Sheets over the page and the device's Back key: while any is open, one step of the browser's history stands for
 * it, so that Back closes the sheet and not the page. A sheet with something typed in it asks first.
 */

interface Open {
	/** Asked by Back: closes the sheet, or stays and asks. */
	leave: () => void;
}
const open: Open[] = [];
const MARK = 'sheet';

addEventListener('popstate', () => {
	const top = open.at(-1);
	if (!top) return;
	top.leave();
	// Whether it went or asks: as long as one is open, Back has something to close.
	setTimeout(settle, 0);
});

function settle(): void {
	const marked = (history.state as { [MARK]?: boolean } | null)?.[MARK] === true;
	if (open.length > 0 && !marked) history.pushState({ [MARK]: true }, '');
	if (open.length === 0 && marked) history.back();
}

/** A sheet has opened. Returns what to call once it is gone. */
export function sheetOpened(leave: () => void): () => void {
	const own = { leave };
	open.push(own);
	setTimeout(settle, 0);
	return () => {
		open.splice(open.indexOf(own), 1);
		// Another may open in the same breath.
		setTimeout(settle, 0);
	};
}
