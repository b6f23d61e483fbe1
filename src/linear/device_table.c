/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "linear/device_table.h"

#include <lcms2_plugin.h>
#include <string.h>

#include "base/memory.h"

enum {
    CHANNELS = 3
};

static const float TOP = 65535.0f;

/* ICC.1, 6.3.4: XYZ of 1 + 32767 / 32768 is the highest code. */
static const double HIGHEST_XYZ = 1.0 + 32767.0 / 32768.0;

/* ICC.1, 10.10: a table of the older kind holds L* of 100 as FF00h. */
static const double OLD_LAB = 65535.0 / 65280.0;

/* The points of `codes` as floats; NULL where memory is short.  To be freed. */
static float *
as_floats(const cmsUInt16Number *codes, cmsUInt32Number count)
{
    float *values = qs_alloc(count, sizeof *values);

    for (cmsUInt32Number i = 0; values != NULL && i < count; i++)
        values[i] = (float)codes[i] / TOP;
    return values;
}

static cmsToneCurve *
finer_curve(cmsContext context, const cmsToneCurve *curve)
{
    const cmsUInt32Number count = cmsGetToneCurveEstimatedTableEntries(curve);
    cmsToneCurve *fine;
    float *values;

    if (cmsGetToneCurveParametricType(curve) != 0 ||
        cmsIsToneCurveMultisegment(curve) || count < 2)
        return cmsDupToneCurve(curve);
    values = as_floats(cmsGetToneCurveEstimatedTable(curve), count);
    if (values == NULL)
        return NULL;
    fine = cmsBuildTabulatedToneCurveFloat(context, count, values);
    qs_free(values);
    return fine;
}

static cmsStage *
finer_curves(cmsContext context, const _cmsStageToneCurvesData *data)
{
    cmsToneCurve *curves[CHANNELS] = {NULL};
    cmsStage *stage = NULL;
    bool well = data->nCurves == CHANNELS;

    for (int i = 0; well && i < CHANNELS; i++) {
        curves[i] = finer_curve(context, data->TheCurves[i]);
        well = curves[i] != NULL;
    }
    if (well)
        stage = cmsStageAllocToneCurves(context, CHANNELS, curves);
    for (int i = 0; i < CHANNELS; i++)
        if (curves[i] != NULL)
            cmsFreeToneCurve(curves[i]);
    return stage;
}

static cmsStage *
finer_grid(cmsContext context, const cmsStage *old, const _cmsStageCLutData *data)
{
    cmsStage *stage;
    float *values;

    if (data->HasFloatValues)
        return cmsStageDup((cmsStage *)old);
    values = as_floats(data->Tab.T, data->nEntries);
    if (values == NULL)
        return NULL;
    stage = cmsStageAllocCLutFloatGranular(context, data->Params->nSamples, CHANNELS,
                                           CHANNELS, values);
    qs_free(values);
    return stage;
}

static cmsStage *
finer_stage(cmsContext context, cmsStage *old)
{
    if (cmsStageInputChannels(old) != CHANNELS ||
        cmsStageOutputChannels(old) != CHANNELS)
        return NULL;
    if (cmsStageType(old) == cmsSigCurveSetElemType)
        return finer_curves(context, cmsStageData(old));
    if (cmsStageType(old) == cmsSigCLutElemType)
        return finer_grid(context, old, cmsStageData(old));
    return cmsStageDup(old);
}

static bool
add(cmsPipeline *stages, cmsStage *stage)
{
    return stage != NULL && cmsPipelineInsertStage(stages, cmsAT_END, stage);
}

/* Whether the table is of the kind that ICC.1 calls lut16Type. */
static bool
is_old_kind(cmsHPROFILE profile, cmsTagSignature tag)
{
    unsigned char kind[8] = {0};

    return cmsReadRawTag(profile, tag, kind, sizeof kind) >= 4 &&
           memcmp(kind, "mft2", 4) == 0;
}

static bool
put_together(cmsContext context, cmsHPROFILE profile, struct qs_device_table *out)
{
    const cmsTagSignature tag =
        cmsIsTag(profile, cmsSigAToB1Tag) ? cmsSigAToB1Tag : cmsSigAToB0Tag;
    const double to_new[9] = {OLD_LAB, 0.0, 0.0, 0.0, OLD_LAB, 0.0, 0.0, 0.0, OLD_LAB};
    const cmsPipeline *table = cmsReadTag(profile, tag);
    bool well = table != NULL && out->stages != NULL;

    if (!well)
        return false;
    for (cmsStage *stage = cmsPipelineGetPtrToFirstStage(table); well && stage != NULL;
         stage = cmsStageNext(stage))
        well = add(out->stages, finer_stage(context, stage));
    if (well && out->is_lab && is_old_kind(profile, tag))
        well = add(out->stages, cmsStageAllocMatrix(context, 3, 3, to_new, NULL));
    return well;
}

enum qs_status
qs_device_table_open(cmsContext context, cmsHPROFILE profile,
                     struct qs_device_table *out, struct qs_error *err)
{
    out->is_lab = cmsGetPCS(profile) == cmsSigLabData;
    out->stages = cmsPipelineAlloc(context, CHANNELS, CHANNELS);
    if (put_together(context, profile, out))
        return QS_OK;
    qs_device_table_close(out);
    return qs_fail(err, QS_ERR_PROFILE,
                   "The table of the file's colour profile can't be read; say how the "
                   "file is encoded with --encoding.");
}

void
qs_device_table_close(struct qs_device_table *table)
{
    if (table->stages != NULL)
        cmsPipelineFree(table->stages);
    table->stages = NULL;
}

static void
xyz_of_lab(const float coded[3], float xyz[3])
{
    const cmsCIELab lab = {100.0 * (double)coded[0], 255.0 * (double)coded[1] - 128.0,
                           255.0 * (double)coded[2] - 128.0};
    cmsCIEXYZ colour;

    cmsLab2XYZ(NULL, &colour, &lab);
    xyz[0] = (float)colour.X;
    xyz[1] = (float)colour.Y;
    xyz[2] = (float)colour.Z;
}

void
qs_device_table_xyz(void *table, const float *rgb, float *xyz, int count)
{
    const struct qs_device_table *own = table;

    for (int i = 0; i < count; i++, rgb += 3, xyz += 3) {
        float coded[3];

        cmsPipelineEvalFloat(rgb, coded, own->stages);
        if (own->is_lab)
            xyz_of_lab(coded, xyz);
        else
            for (int c = 0; c < 3; c++)
                xyz[c] = (float)(HIGHEST_XYZ * (double)coded[c]);
    }
}
