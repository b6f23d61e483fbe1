/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/notes_true.h"

#include <math.h>
#include <stdio.h>

#include "base/memory.h"
#include "image/editor_blocks.h"
#include "image/xmp_edit.h"

/* Exif 2.3, 4.6.5: sides of the picture; of TIFF, the blocks of picture editors. */
enum {
    TAG_PIXELS_ACROSS = 0xA002,
    TAG_PIXELS_DOWN = 0xA003,
    TAG_EDITOR_BLOCKS = 0x8649
};

static enum qs_status
correct_exif(struct qs_note_list *exif, const struct qs_notes_truth *truth,
             struct qs_error *err)
{
    const struct {
        uint16_t tag;
        int pixels;
    } sides[] = {{TAG_PIXELS_ACROSS, truth->width}, {TAG_PIXELS_DOWN, truth->height}};
    enum qs_status status = QS_OK;

    for (int i = 0; i < 2 && status == QS_OK; i++)
        if (qs_notes_find(exif, sides[i].tag) != NULL)
            status =
                qs_notes_set_number(exif, sides[i].tag, (uint32_t)sides[i].pixels, err);
    return status;
}

/* "300/1", or in thousandths. */
static void
write_ratio(double value, char *out, size_t size)
{
    if (value == floor(value))
        (void)snprintf(out, size, "%.0f/1", value);
    else
        (void)snprintf(out, size, "%.0f/1000", floor(value * 1000.0 + 0.5));
}

static int
fill_values(const struct qs_notes_truth *truth, struct qs_xmp_value *values)
{
    const struct {
        enum qs_xmp_space space;
        const char *name;
        int value;
    } whole[] = {{QS_XMP_TIFF, "ImageWidth", truth->width},
                 {QS_XMP_TIFF, "ImageLength", truth->height},
                 {QS_XMP_EXIF, "PixelXDimension", truth->width},
                 {QS_XMP_EXIF, "PixelYDimension", truth->height},
                 {QS_XMP_TIFF, "Orientation", truth->orientation}};
    static const char *const ratios[] = {"XResolution", "YResolution"};
    int count = 0;

    for (; count < 5; count++) {
        values[count] =
            (struct qs_xmp_value){whole[count].space, whole[count].name, ""};
        (void)snprintf(values[count].value, sizeof values[count].value, "%d",
                       whole[count].value);
    }
    if (!(truth->ppi > 0.0))
        return count;
    for (int i = 0; i < 2; i++, count++) {
        values[count] = (struct qs_xmp_value){QS_XMP_TIFF, ratios[i], ""};
        write_ratio(truth->ppi, values[count].value, sizeof values[count].value);
    }
    values[count++] = (struct qs_xmp_value){QS_XMP_TIFF, "ResolutionUnit", "2"};
    return count;
}

static enum qs_status
correct_xmp(struct qs_note_list *picture, const struct qs_notes_truth *truth,
            struct qs_error *err)
{
    const struct qs_note *note = qs_notes_find(picture, QS_NOTE_XMP);
    struct qs_xmp_value values[8];
    uint8_t *edited;
    size_t size;
    enum qs_status status;

    if (note == NULL)
        return QS_OK;
    status = qs_xmp_edit(note->bytes, note->size, values, fill_values(truth, values),
                         &edited, &size, err);
    if (status == QS_OK && edited != NULL)
        status =
            qs_notes_set_bytes(picture, QS_NOTE_XMP, note->type, edited, size, err);
    qs_free(edited);
    return status;
}

static enum qs_status
correct_editor_blocks(struct qs_note_list *picture, const struct qs_notes_truth *truth,
                      struct qs_error *err)
{
    const struct qs_note *note = qs_notes_find(picture, TAG_EDITOR_BLOCKS);
    uint8_t *edited;
    size_t size;
    enum qs_status status;

    if (note == NULL)
        return QS_OK;
    status =
        qs_editor_blocks_edit(note->bytes, note->size, truth->ppi, &edited, &size, err);
    if (status != QS_OK || edited == NULL)
        return status;
    if (size > 0)
        status = qs_notes_set_bytes(picture, TAG_EDITOR_BLOCKS, note->type, edited,
                                    size, err);
    else
        qs_notes_drop(picture, TAG_EDITOR_BLOCKS);
    qs_free(edited);
    return status;
}

enum qs_status
qs_notes_make_true(struct qs_notes *notes, const struct qs_notes_truth *truth,
                   struct qs_error *err)
{
    struct qs_note_list *picture = &notes->at[QS_NOTES_PICTURE];
    enum qs_status status = correct_exif(&notes->at[QS_NOTES_EXIF], truth, err);

    if (status == QS_OK)
        status = correct_xmp(picture, truth, err);
    return status == QS_OK ? correct_editor_blocks(picture, truth, err) : status;
}
