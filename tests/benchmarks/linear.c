/* The arithmetic of the linear joint checks, row by row and bolt by bolt: what a compiled loop would do.
   Loads come as six arrays (N, M1, M2, V1, V2, T) of `rows` numbers; results go out as three arrays. */
#include <math.h>

void greatest(long rows, int bolts, const double *loads, const double *x, const double *y, double tension_capacity,
              double shear_capacity, double *tension, double *shear, double *interaction)
{
    double xx = 0.0, yy = 0.0, xy = 0.0, cx = 0.0, cy = 0.0;
    for (int i = 0; i < bolts; i++) {
        cx += x[i] / bolts;
        cy += y[i] / bolts;
    }
    for (int i = 0; i < bolts; i++) {
        xx += (x[i] - cx) * (x[i] - cx);
        yy += (y[i] - cy) * (y[i] - cy);
        xy += (x[i] - cx) * (y[i] - cy);
    }
    double det = xx * yy - xy * xy, polar = xx + yy;
    double per_t = 1.0 / tension_capacity, per_s2 = 1.0 / (shear_capacity * shear_capacity);
    for (long row = 0; row < rows; row++) {
        double N = loads[row], M1 = loads[rows + row], M2 = loads[2 * rows + row];
        double V1 = loads[3 * rows + row], V2 = loads[4 * rows + row], T = loads[5 * rows + row];
        double along_x = M2 - N * cx, along_y = -M1 - N * cy;
        double level = N / bolts;
        double slope_x = (yy * along_x - xy * along_y) / det;
        double slope_y = (xx * along_y - xy * along_x) / det;
        double twist = (-T - (cx * V2 - cy * V1)) / polar;
        double most_t = -INFINITY, most_s2 = 0.0, most_i2 = 0.0;
        for (int i = 0; i < bolts; i++) {
            double dx = x[i] - cx, dy = y[i] - cy;
            double t = level + slope_x * dx + slope_y * dy;
            double s1 = V1 / bolts - twist * dy, s2 = V2 / bolts + twist * dx;
            double squared = s1 * s1 + s2 * s2;
            double ratio = (t > 0.0 ? t : 0.0) * per_t;
            double both = ratio * ratio + squared * per_s2;
            if (t > most_t) most_t = t;
            if (squared > most_s2) most_s2 = squared;
            if (both > most_i2) most_i2 = both;
        }
        tension[row] = most_t;
        shear[row] = sqrt(most_s2);
        interaction[row] = sqrt(most_i2);
    }
}
