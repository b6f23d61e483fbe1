/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "image/notes_true.h"

#include "base/memory.h"
#include "image/resources.h"
#include "image/xmp_true.h"

/* Exif 2.3 (CIPA DC-008), 4.6.5; resources: as libtiff's tiff.h numbers them. */
enum {
    TYPE_BYTE = 1,
    TAG_COMPONENTS = 0x9101,
    TAG_COMPRESSED_BITS = 0x9102,
    TAG_PIXELS_ACROSS = 0xA002,
    TAG_PIXELS_DOWN = 0xA003,
    TAG_RESOURCES = 34377
};

/* Tags that name the sides are made true; where there are none, none are added. */
static enum qs_status
correct_exif(struct qs_note_list *exif, const struct qs_picture_plan *plan,
             struct qs_error *err)
{
    enum qs_status status = QS_OK;

    qs_notes_drop(exif, TAG_COMPONENTS);
    qs_notes_drop(exif, TAG_COMPRESSED_BITS);
    if (qs_notes_find(exif, TAG_PIXELS_ACROSS) != NULL)
        status =
            qs_notes_set_number(exif, TAG_PIXELS_ACROSS, (uint32_t)plan->width, err);
    if (status == QS_OK && qs_notes_find(exif, TAG_PIXELS_DOWN) != NULL)
        status =
            qs_notes_set_number(exif, TAG_PIXELS_DOWN, (uint32_t)plan->height, err);
    return status;
}

/* Makes of the note `tag` the `size` bytes in `made`, which are freed. */
static enum qs_status
replace(struct qs_note_list *list, uint16_t tag, uint8_t *made, size_t size,
        struct qs_error *err)
{
    enum qs_status status = QS_OK;

    if (made != NULL && size == 0)
        qs_notes_drop(list, tag);
    else if (made != NULL)
        status = qs_notes_set_bytes(list, tag, TYPE_BYTE, made, size, err);
    qs_free(made);
    return status;
}

static enum qs_status
correct_xmp(struct qs_notes *notes, const struct qs_picture_plan *plan,
            struct qs_error *err)
{
    struct qs_note_list *list = &notes->at[QS_NOTES_PICTURE];
    const struct qs_note *xmp = qs_notes_find(list, QS_NOTE_XMP);
    enum qs_status status;
    uint8_t *made;
    size_t size;
    bool is_sound;

    if (xmp == NULL)
        return QS_OK;
    status =
        qs_xmp_make_true(xmp->bytes, xmp->size, plan, &made, &size, &is_sound, err);
    if (status != QS_OK)
        return status;
    notes->unread += is_sound ? 0 : 1;
    return replace(list, QS_NOTE_XMP, made, size, err);
}

static enum qs_status
correct_resources(struct qs_notes *notes, double ppi, struct qs_error *err)
{
    struct qs_note_list *list = &notes->at[QS_NOTES_PICTURE];
    const struct qs_note *resources = qs_notes_find(list, TAG_RESOURCES);
    enum qs_status status;
    uint8_t *made;
    size_t size;
    bool is_sound;

    if (resources == NULL)
        return QS_OK;
    status = qs_resources_make_true(resources->bytes, resources->size, ppi, &made,
                                    &size, &is_sound, err);
    if (status != QS_OK)
        return status;
    notes->unread += is_sound ? 0 : 1;
    return replace(list, TAG_RESOURCES, made, size, err);
}

enum qs_status
qs_notes_make_true(struct qs_notes *notes, const struct qs_picture_plan *plan,
                   struct qs_error *err)
{
    enum qs_status status = correct_exif(&notes->at[QS_NOTES_EXIF], plan, err);

    if (status == QS_OK)
        status = correct_xmp(notes, plan, err);
    if (status == QS_OK)
        status = correct_resources(notes, plan->ppi, err);
    return status;
}
