import { fuzz } from './campaign.ts';

fuzz(0);
