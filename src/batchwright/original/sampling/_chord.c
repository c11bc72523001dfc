/* Slice sampling along chords of the region a label allows; see sampler.py for the model in words.
 *
 * State of a chain: x = (s_1..s_n, u_1..u_m). s: shares as added, sum 1. u_p: the loss of part p as a fraction of the
 * part's mass where positive; a negative u_p means "no loss", so that the lump of probability at no loss is walked
 * through like any other region. Finished mass of part p: f_p = S_p (1 - max(0, u_p)), S_p the part's mass as added.
 */
#include <math.h>
#include <stdint.h>
#include <string.h>

#define OUTSIDE (-1e300)         /* stands for minus infinity, so that arithmetic may assume finite numbers */
#define SCALED 0.25              /* how often a step scales one leaf instead of walking along a chord */
#define MAXN 640
#define MAXK 96
#define MAXM 24

typedef struct {
    int n, m, k, g, c;          /* leaves, parts, panel rows, hard rows on s alone, hard rows on (s, f) */
    int soft;                   /* 1: panel rows as a likelihood, 0: as walls */
    const int *part;            /* n */
    const double *mu, *isd;     /* n: prior of log share */
    double nu, ninv;            /* tails of the prior; 1 / nu */
    const double *a, *b;        /* k x n: composition and its squared spread per 100 g */
    const double *lo, *hi;      /* k: per 100 g finished */
    const int *rowparts;        /* k x m: 1 where the row speaks of the part */
    const int *mac;             /* k: group of the energy row this macronutrient feeds (-1 none) */
    const double *macfactor;    /* k: kcal per g of that macronutrient */
    const int *isenergy;        /* k: 1 where the row is an energy row tied to macronutrients */
    const double *G, *h;        /* g x n: G s <= h */
    const double *Cx, *ch;      /* c x (n + m): C (s, f) <= h */
    const double *w;            /* n: water fraction that may leave */
    const double *lmax;         /* m */
    const double *p0, *lm, *ls, *uw, *lnorm; /* m: chance of no loss, centre, spread, width of the no-loss side, log norm */
} Problem;

static uint64_t rotl(uint64_t x, int k) { return (x << k) | (x >> (64 - k)); }
static double uniform(uint64_t *s) {
    uint64_t r = rotl(s[0] + s[3], 23) + s[0], t = s[1] << 17;
    s[2] ^= s[0]; s[3] ^= s[1]; s[1] ^= s[2]; s[0] ^= s[3]; s[2] ^= t; s[3] = rotl(s[3], 45);
    return ((double)(r >> 11) + 0.5) * (1.0 / 9007199254740992.0);
}

/* To 1.5e-7: Abramowitz and Stegun 1964, formula 7.1.26. */
static inline double error_function(double x) {
    double y = fabs(x), t = 1.0 / (1.0 + 0.3275911 * y);
    double s = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429))));
    return copysign(1.0 - s * exp(-y * y), x);
}

/* Log density at the point with shares s, losses u, panel sums z = A s and variances q = B s^2. */
static double density(const Problem *p, const double *s, const double *u, const double *z, const double *q) {
    int n = p->n, m = p->m, k = p->k;
    double S[MAXM], W[MAXM], f[MAXM], lp = 0, sum2 = 0, prod = 1, l;
    memset(S, 0, sizeof(double) * m); memset(W, 0, sizeof(double) * m);
    for (int i = 0; i < n; i++) {
        if (s[i] <= 0) return OUTSIDE;
        S[p->part[i]] += s[i]; W[p->part[i]] += p->w[i] * s[i];
    }
    for (int j = 0; j < m; j++) {
        l = u[j] > 0 ? u[j] : 0;
        if (u[j] < -p->uw[j] || u[j] > p->lmax[j] || l * S[j] > W[j] + 1e-12) return OUTSIDE;
        f[j] = S[j] * (1 - l);
        if (u[j] < 0) lp += log(p->p0[j] / p->uw[j]);
        else { double d = (u[j] - p->lm[j]) / p->ls[j]; lp += p->lnorm[j] - 0.5 * d * d; }
    }
    for (int r = 0; r < p->c; r++) {
        const double *row = p->Cx + (size_t)r * (n + m); double v = 0;
        for (int i = 0; i < n; i++) v += row[i] * s[i];
        for (int j = 0; j < m; j++) v += row[n + j] * f[j];
        if (v > p->ch[r] + 1e-9) return OUTSIDE;
    }
    double F[MAXK];
    for (int r = 0; r < k; r++) {
        if (m == 1) F[r] = f[0];
        else { F[r] = 0; for (int j = 0; j < m; j++) if (p->rowparts[r * m + j]) F[r] += f[j]; }
        if (!p->soft && (z[r] < p->lo[r] * F[r] - 1e-9 || z[r] > p->hi[r] * F[r] + 1e-9)) return OUTSIDE;
    }
    double L[MAXN];
    for (int i = 0; i < n; i++) L[i] = log(s[i]);
    for (int i = 0; i < n; i++) {
        double d = (L[i] - p->mu[i]) * p->isd[i];
        sum2 += d * d; lp -= L[i];
    }
    lp -= 0.5 * (p->nu + n) * log1p(sum2 * p->ninv);
    if (p->soft) {
        double me[MAXK], mv[MAXK]; /* what the macronutrients say of each energy row */
        double e[MAXK], v[MAXK], mass[MAXK], mass1 = 1;
        for (int r = 0; r < k; r++) {
            e[r] = z[r] / F[r] - 0.5 * (p->hi[r] + p->lo[r]);
            v[r] = q[r] / (F[r] * F[r]);
            me[r] = 0; mv[r] = 0;
        }
        for (int r = 0; r < k; r++) { /* the chance that a printed figure comes out, by the normal law of lots */
            double half = 0.5 * (p->hi[r] - p->lo[r]), c = sqrt(0.5 / (v[r] + 1e-12));
            mass[r] = error_function(c * (half - e[r])) + error_function(c * (half + e[r]));
        }
        for (int r = 0; r < k; r++) {
            if (p->isenergy[r]) continue;
            double w = p->hi[r] - p->lo[r], t = v[r] + w * w * (1.0 / 12.0) + 1e-12;
            if (p->mac[r] < 0 && mass[r] > 1e-6) mass1 *= mass[r] / w;
            else { lp -= 0.5 * e[r] * e[r] / t; prod *= t; }
            if (mass1 < 1e-200 || mass1 > 1e200) { lp += log(mass1); mass1 = 1; }
            if (prod < 1e-200 || prod > 1e200) { lp -= 0.5 * log(prod); prod = 1; }
            if (p->mac[r] >= 0) {
                double g = p->macfactor[r], kk = v[r] / t;
                me[p->mac[r]] += g * kk * e[r]; mv[p->mac[r]] += g * g * v[r] * (1 - kk);
            }
        }
        for (int r = 0; r < k; r++) {
            if (!p->isenergy[r]) continue;
            double w = p->hi[r] - p->lo[r], off = e[r] - me[r];
            double t = v[r] + mv[r] + w * w * (1.0 / 12.0) + 1e-12;
            lp -= 0.5 * off * off / t; prod *= t;
        }
        lp -= 0.5 * log(prod) - log(mass1);
    }
    return lp;
}

/* Log density of one point x (n + m); OUTSIDE where the label forbids it. */
double chord_density(const Problem *p, const double *x) {
    double z[MAXK], q[MAXK];
    for (int r = 0; r < p->k; r++) {
        z[r] = q[r] = 0;
        for (int i = 0; i < p->n; i++) {
            z[r] += p->a[(size_t)r * p->n + i] * x[i];
            if (p->soft) q[r] += p->b[(size_t)r * p->n + i] * x[i] * x[i];
        }
    }
    return density(p, x, x + p->n, z, q);
}

/* Sums that are carried along from step to step: z = A x, q0 = B x^2, gs = G x. */
static void refresh(const Problem *p, const double *x, double *z, double *q0, double *gs) {
    int n = p->n;
    for (int r = 0; r < p->k; r++) {
        const double *a = p->a + (size_t)r * n, *b = p->b + (size_t)r * n;
        double v = 0, w = 0;
        for (int i = 0; i < n; i++) { v += a[i] * x[i]; w += b[i] * x[i] * x[i]; }
        z[r] = v; q0[r] = w;
    }
    for (int r = 0; r < p->g; r++) {
        double v = 0;
        for (int i = 0; i < n; i++) v += p->G[(size_t)r * n + i] * x[i];
        gs[r] = v;
    }
}

/* One slice along the scale of one leaf below a half: s_i times e^t, the others shrinking or growing together to keep the sum.
 * In (log s_i, proportions of the others) the simplex has the volume s_i (1 - s_i)^(n - 2). Changes x, z, q0, gs and lp;
 * returns the number of density evaluations. */
static long scale_leaf(const Problem *p, double *x, double *z, double *q0, double *gs, double *lp, uint64_t *rng) {
    int n = p->n, m = p->m, k = p->k, g = p->g, i = (int)(uniform(rng) * n);
    double s = x[i], lo = -5.0 / p->isd[i] * uniform(rng), hi = lo + 5.0 / p->isd[i];
    double y[MAXN + MAXM], zt[MAXK], qt[MAXK];
    long evaluations = 0;
    if (s <= 0 || s >= 0.5) return 0; /* what is large walks along chords: rounding would tell on the others here */
    double level = *lp + log(s) + (n - 2) * log(1 - s) + log(uniform(rng));
    for (int round = 0; round < 40; round++) {
        double t = lo + (hi - lo) * uniform(rng), v = s * exp(t), r = (1 - v) / (1 - s);
        int inside = v > 0 && v < 0.5;
        for (int w = 0; inside && w < g; w++) {
            double a = p->G[(size_t)w * n + i];
            if ((gs[w] - a * s) * r + a * v > p->h[w] + 1e-12) inside = 0;
        }
        double l = OUTSIDE, seen = OUTSIDE;
        if (inside) {
            for (int j = 0; j < n; j++) y[j] = x[j] * r;
            y[i] = v;
            for (int j = n; j < n + m; j++) y[j] = x[j];
            for (int w = 0; w < k; w++) {
                double a = p->a[(size_t)w * n + i], b = p->b[(size_t)w * n + i];
                zt[w] = (z[w] - a * s) * r + a * v;
                qt[w] = (q0[w] - b * s * s) * r * r + b * v * v;
                if (qt[w] < 0) qt[w] = 0;
            }
            l = density(p, y, y + n, zt, qt);
            evaluations++;
            if (l > OUTSIDE) seen = l + log(v) + (n - 2) * log(1 - v);
        }
        if (seen > level) {
            for (int w = 0; w < g; w++) { double a = p->G[(size_t)w * n + i]; gs[w] = (gs[w] - a * s) * r + a * v; }
            memcpy(x, y, sizeof(double) * (n + m)); memcpy(z, zt, sizeof(double) * k); memcpy(q0, qt, sizeof(double) * k);
            *lp = l;
            break;
        }
        if (t < 0) lo = t; else hi = t;
    }
    return evaluations;
}

/* Walk one chain `steps` steps along the nd directions (nd x (n + m)), keeping every `thin`th state in out.
 * x is read and left at the last state. work: nd x (k + k + g) doubles of scratch, g more at its end.
 * Returns the number of density evaluations, -1 if x lies outside, -2 if the task is larger than the walk takes. */
long chord_walk(const Problem *p, double *x, const double *dirs, int nd, int steps, int thin, uint64_t seed, double *work,
                double *out) {
    int n = p->n, m = p->m, k = p->k, g = p->g, D = n + m, kept = 0;
    uint64_t rng[4], sm = seed;
    double z[MAXK], q0[MAXK], q1[MAXK], zt[MAXK], qt[MAXK], y[MAXN + MAXM];
    double *dz_all = work, *q2_all = work + (size_t)nd * k, *gd_all = work + (size_t)nd * 2 * k, *gs = gd_all + (size_t)nd * g;
    long evaluations = 0;
    if (n > MAXN || m > MAXM || k > MAXK) return -2;
    for (int i = 0; i < 4; i++) {
        sm += 0x9e3779b97f4a7c15ULL; uint64_t v = sm;
        v = (v ^ (v >> 30)) * 0xbf58476d1ce4e5b9ULL; v = (v ^ (v >> 27)) * 0x94d049bb133111ebULL; rng[i] = v ^ (v >> 31);
    }
    double lp = chord_density(p, x);
    if (lp <= OUTSIDE) return -1;
    for (int j = 0; j < nd; j++) refresh(p, dirs + (size_t)j * D, dz_all + (size_t)j * k, q2_all + (size_t)j * k, gd_all + (size_t)j * g);
    for (int step = 0; step < steps; step++) {
        if (step % 50 == 0) {
            double sum = 0;
            for (int i = 0; i < n; i++) sum += x[i];
            for (int i = 0; i < n; i++) x[i] /= sum;
            refresh(p, x, z, q0, gs);
        }
        if (n > 1 && uniform(rng) < SCALED) {
            evaluations += scale_leaf(p, x, z, q0, gs, &lp, rng);
            if (out && (step + 1) % thin == 0) memcpy(out + (size_t)(kept++) * D, x, sizeof(double) * D);
            continue;
        }
        int j = (int)(uniform(rng) * nd);
        const double *d = dirs + (size_t)j * D, *dz = dz_all + (size_t)j * k, *q2 = q2_all + (size_t)j * k, *gd = gd_all + (size_t)j * g;
        double lo = -6.0 * uniform(rng), hi = lo + 6.0;
        for (int i = 0; i < n; i++) {
            if (d[i] > 1e-14) { double t = -x[i] / d[i]; if (t > lo) lo = t; }
            else if (d[i] < -1e-14) { double t = -x[i] / d[i]; if (t < hi) hi = t; }
        }
        for (int r = 0; r < g; r++) {
            if (gd[r] > 1e-14) { double t = (p->h[r] - gs[r]) / gd[r]; if (t < hi) hi = t; }
            else if (gd[r] < -1e-14) { double t = (p->h[r] - gs[r]) / gd[r]; if (t > lo) lo = t; }
        }
        if (lo > 0) lo = 0;
        if (hi < 0) hi = 0;
        if (p->soft) for (int r = 0; r < k; r++) {
            const double *b = p->b + (size_t)r * n;
            double v = 0;
            for (int i = 0; i < n; i++) v += b[i] * x[i] * d[i];
            q1[r] = 2 * v;
        }
        else for (int r = 0; r < k; r++) q1[r] = 0;
        double level = lp + log(uniform(rng));
        for (int round = 0; round < 60; round++) {
            double t = lo + (hi - lo) * uniform(rng);
            for (int i = 0; i < D; i++) y[i] = x[i] + t * d[i];
            for (int r = 0; r < k; r++) { zt[r] = z[r] + t * dz[r]; qt[r] = q0[r] + t * (q1[r] + t * q2[r]); }
            double l = density(p, y, y + n, zt, qt);
            evaluations++;
            if (l > level) {
                memcpy(x, y, sizeof(double) * D); memcpy(z, zt, sizeof(double) * k); memcpy(q0, qt, sizeof(double) * k);
                for (int r = 0; r < g; r++) gs[r] += t * gd[r];
                lp = l;
                break;
            }
            if (t < 0) lo = t; else hi = t;
        }
        if (out && (step + 1) % thin == 0) memcpy(out + (size_t)(kept++) * D, x, sizeof(double) * D);
    }
    return evaluations;
}
