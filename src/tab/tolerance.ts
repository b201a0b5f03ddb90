/** A bend or overbend within this of its target is in tune, everywhere unless told otherwise: twice what a plain note is held to (common practice, no source). */
export const BEND_TOLERANCE_CENTS = 25;
