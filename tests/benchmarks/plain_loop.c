/* The whole-logbook analysis as a plain loop: one dive after another, one sample after another, one
 * compartment after another, doubles and the C library. It is what the array code is timed against, so it
 * does the same work and nothing in its disfavour: the weights of the constant step are worked out once, limits and
 * reciprocals once a dive, a logarithm is taken only where a compartment can reach its limit, and the
 * oxygen rates are taken once a step, in its middle.
 */
#include <math.h>

#define COMPARTMENTS 16

typedef struct {
    double kept[COMPARTMENTS], at_start[COMPARTMENTS], at_end[COMPARTMENTS];
    double half_time_min[COMPARTMENTS], a_bar[COMPARTMENTS], b[COMPARTMENTS];
    double step_min, gf_low, gf_high;
} model_t;

static const double LIMIT_MIN[11] = {720, 570, 450, 360, 300, 240, 210, 180, 150, 120, 45};

static double clock_rate(double ppo2_bar)
{
    if (ppo2_bar < 0.6) return 0.0;
    if (ppo2_bar >= 1.6) return 1.0 / 45.0;
    double place = (ppo2_bar - 0.6) * 10.0;
    int row = (int)place;
    return 1.0 / (LIMIT_MIN[row] + (place - row) * (LIMIT_MIN[row + 1] - LIMIT_MIN[row]));
}

static double lung_rate(double ppo2_bar)
{
    return ppo2_bar > 0.5 ? pow((ppo2_bar - 0.5) / 0.5, 5.0 / 6.0) : 0.0;
}

void whole_logbook(const model_t *m, long dives, const long *count, const double *ambient_bar,
                   const double *n2_fraction, const double *surface_bar, const double *bar_per_metre,
                   const double *interval_min, double *ceiling_m, double *load, double *no_stop_min,
                   double *ppo2_bar, double *cns_fraction, double *otu, double *end_bar)
{
    const double ln2 = 0.69314718055994530942, vapour_bar = 0.0627;
    double p[COMPARTMENTS], limit[COMPARTMENTS], per_room[COMPARTMENTS];
    double slope[COMPARTMENTS], offset[COMPARTMENTS], minutes_per_e[COMPARTMENTS];
    double rest_before = 0.0;
    for (int i = 0; i < COMPARTMENTS; i++) {
        slope[i] = 1.0 / (m->gf_low / m->b[i] - m->gf_low + 1.0);
        offset[i] = slope[i] * m->a_bar[i] * m->gf_low;
        minutes_per_e[i] = m->half_time_min[i] / ln2;
    }
    long n = 0;
    for (long d = 0; d < dives; d++) {
        double surface = surface_bar[d], rest = (surface - vapour_bar) * 0.79;
        for (int i = 0; i < COMPARTMENTS; i++) {
            double kept = exp(-ln2 * interval_min[d] / m->half_time_min[i]);
            p[i] = isinf(interval_min[d]) ? rest : rest_before + (p[i] - rest_before) * kept;
            limit[i] = surface + m->gf_high * (m->a_bar[i] + surface / m->b[i] - surface);
            per_room[i] = 1.0 / (limit[i] - rest);
        }
        rest_before = rest;
        double cns = 0.0, lungs = 0.0;
        for (long end = n + count[d], first = n; n < end; n++) {
            double f = n2_fraction[n], q = (ambient_bar[n] - vapour_bar) * f;
            if (n > first) {
                double f_before = n2_fraction[n - 1];
                double q0 = (ambient_bar[n - 1] - vapour_bar) * f_before;
                double q1 = (ambient_bar[n] - vapour_bar) * f_before;
                for (int i = 0; i < COMPARTMENTS; i++)
                    p[i] = m->kept[i] * p[i] + m->at_start[i] * q0 + m->at_end[i] * q1;
                double middle_bar = 0.5 * (ambient_bar[n - 1] + ambient_bar[n]) * (1.0 - f_before);
                cns += m->step_min * clock_rate(middle_bar);
                lungs += m->step_min * lung_rate(middle_bar);
            }
            double deepest = -1e9, most = -1e9, least = INFINITY;
            for (int i = 0; i < COMPARTMENTS; i++) {
                double tolerated = slope[i] * p[i] - offset[i];
                if (tolerated > deepest) deepest = tolerated;
                double share = (p[i] - rest) * per_room[i];
                if (share > most) most = share;
                if (q > limit[i]) {
                    double minutes = minutes_per_e[i] * log((q - p[i]) / (q - limit[i]));
                    if (minutes < least) least = minutes;
                }
            }
            ceiling_m[n] = (deepest - surface) / bar_per_metre[d];
            load[n] = most;
            no_stop_min[n] = most > 1.0 ? 0.0 : least > 1440.0 ? NAN : least;
            ppo2_bar[n] = ambient_bar[n] * (1.0 - f);
            cns_fraction[n] = cns;
            otu[n] = lungs;
        }
        for (int i = 0; i < COMPARTMENTS; i++) end_bar[d * COMPARTMENTS + i] = p[i];
    }
}
