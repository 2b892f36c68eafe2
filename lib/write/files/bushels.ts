import type { Run } from '../../model/index.ts';
import { shown } from '../../units/index.ts';

/** Yields in bushels per acre beside those in kg/ha: columns that follow the usual ones where they are asked for. */
export const BUSHEL_COLUMNS = ['monitor_yield_bu_ac', 'yield_bu_ac'] as const;

/** What a yield in kg/ha is multiplied by to be in bushels per acre of the field's crop. */
export const perAcre = (run: Run): number => shown('yield', 'us', run.field.plan.crop).factor;
