/**
 * A bend or overbend within this of its target is in tune, unless the user sets another limit (common practice, no
 * source).
 */
export const BEND_TOLERANCE_CENTS = 25;
