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

#endif
