/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The constants everything rests on, each with its unit and source.
 */
#ifndef LASTBAR_BASE_CONSTANTS_H
#define LASTBAR_BASE_CONSTANTS_H

#define LB_PI 3.14159265358979323846

/* Dry air as an ideal gas. [J/(kg K)]; the U.S. Standard Atmosphere, 1976, gives 287.05307. */
#define LB_GAS_CONSTANT 287.05

/* Ratio of specific heats of dry air [1]; 1.400 at room temperature in any gas table. */
#define LB_GAMMA 1.4

/* Specific heats of dry air [J/(kg K)], from the two above. */
#define LB_CP (LB_GAS_CONSTANT * LB_GAMMA / (LB_GAMMA - 1))
#define LB_CV (LB_GAS_CONSTANT / (LB_GAMMA - 1))

/* Density of the standard reference atmosphere ANR [kg/m3] (ISO 8778: 100 kPa, 20 degC, 65 %
 * relative humidity; the figure is that of ISO 6358-1). */
#define LB_DENSITY_ANR 1.185

/* Zero of the Celsius scale [K], exact by definition. */
#define LB_ZERO_CELSIUS 273.15

/* Standard atmosphere at sea level [Pa]; ISO 2533 and the U.S. Standard Atmosphere, 1976. */
#define LB_ATMOSPHERE 101325.0

/* Standard gravity [m/s2]; 3rd General Conference on Weights and Measures, 1901. */
#define LB_GRAVITY 9.80665

/* Units that texts are written in, exact by definition: the bar [Pa]; the inch [m] and the pound
 * [kg] of the international yard and pound agreement, 1959; standard gravity [m/s2] of the 3rd
 * General Conference on Weights and Measures, 1901; from these the pound-force per square inch
 * [Pa]. */
#define LB_BAR 1e5
#define LB_INCH 0.0254
#define LB_PSI (0.45359237 * 9.80665 / (LB_INCH * LB_INCH))
#define LB_MILLIMETRE 1e-3                          /* [m] */
#define LB_DEGREE (LB_PI / 180)                     /* [rad] */
#define LB_RPM (2 * LB_PI / 60)                     /* [rad/s] */
#define LB_CUBIC_CENTIMETRE 1e-6                    /* [m3] */
#define LB_CUBIC_INCH (LB_INCH * LB_INCH * LB_INCH) /* [m3] */

#endif
