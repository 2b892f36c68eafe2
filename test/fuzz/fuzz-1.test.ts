import { fuzz } from './campaign.ts';

fuzz(0, 10_000);
