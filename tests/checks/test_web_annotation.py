"""Marks as W3C Web Annotations keep every key when a JSON-LD processor reads them: a mis-spelt key would vanish in silence."""

from __future__ import annotations

from typing import Any

import pytest
from pyld import jsonld

from drillhall.core.regions import NamedRegion, Region, annotation, annotation_page, roi_rows

OA, AS = "http://www.w3.org/ns/oa#", "http://www.w3.org/ns/activitystreams#"
# The terms that we use, out of the context at http://www.w3.org/ns/anno.jsonld (W3C Recommendation 2017-02-23), from memory: no package
# carries the file. The names of the vocabulary beside them are those of the Web Annotation Vocabulary, section 3.
CONTEXT = {
    "@context": {
        "oa": OA,
        "as": AS,
        "dc": "http://purl.org/dc/elements/1.1/",
        "dcterms": "http://purl.org/dc/terms/",
        "dctypes": "http://purl.org/dc/dcmitype/",
        "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
        "xsd": "http://www.w3.org/2001/XMLSchema#",
        "id": {"@id": "@id", "@type": "@id"},
        "type": {"@id": "@type", "@type": "@vocab"},
        "Annotation": "oa:Annotation",
        "AnnotationPage": "as:OrderedCollectionPage",
        "TextualBody": "oa:TextualBody",
        "Image": "dctypes:StillImage",
        "FragmentSelector": "oa:FragmentSelector",
        "describing": "oa:describing",
        "body": {"@type": "@id", "@id": "oa:hasBody"},
        "target": {"@type": "@id", "@id": "oa:hasTarget"},
        "source": {"@type": "@id", "@id": "oa:hasSource"},
        "selector": {"@type": "@id", "@id": "oa:hasSelector"},
        "motivation": {"@type": "@vocab", "@id": "oa:motivatedBy"},
        "purpose": {"@type": "@vocab", "@id": "oa:hasPurpose"},
        "items": {"@type": "@id", "@id": "as:items", "@container": "@list"},
        "startIndex": {"@type": "xsd:nonNegativeInteger", "@id": "as:startIndex"},
        "format": "dc:format",
        "language": "dc:language",
        "value": "rdf:value",
        "conformsTo": {"@type": "@id", "@id": "dcterms:conformsTo"},
    }
}
ONE = NamedRegion("mark1", "pale wing bar", "wing", Region(0.2575, 0.218369, 0.1125, 0.089972))
ADDRESS = "https://hall.example/pictures/17"


def told() -> dict[str, Any]:
    return annotation(ADDRESS, ONE, width_px=1600, height_px=1067, language="en", media_type="image/webp")


def expanded(document: dict[str, Any]) -> dict[str, Any]:
    def load(url: str, _options: Any) -> dict[str, Any]:
        assert url == "http://www.w3.org/ns/anno.jsonld"
        return {"contextUrl": None, "documentUrl": url, "document": CONTEXT, "contentType": "application/ld+json"}

    (read,) = jsonld.expand(document, {"documentLoader": load})
    return dict(read)


def test_every_key_of_an_annotation_survives() -> None:
    read = expanded(told())
    assert set(read) == {"@id", "@type", f"{OA}motivatedBy", f"{OA}hasBody", f"{OA}hasTarget"}
    assert read["@type"] == [f"{OA}Annotation"]
    assert read[f"{OA}motivatedBy"] == [{"@id": f"{OA}describing"}]
    (selector,) = read[f"{OA}hasTarget"][0][f"{OA}hasSelector"]
    assert selector["http://www.w3.org/1999/02/22-rdf-syntax-ns#value"] == [{"@value": "xywh=pixel:412,233,180,96"}]
    assert selector["http://purl.org/dc/terms/conformsTo"] == [{"@id": "http://www.w3.org/TR/media-frags/"}]
    assert set(read[f"{OA}hasBody"][0]) >= {f"{OA}hasPurpose", "@type", "http://purl.org/dc/elements/1.1/language"}


def test_every_key_of_a_page_survives() -> None:
    page = annotation_page(f"{ADDRESS}#marks", [told()])
    read = expanded(page)
    (items,) = read[f"{AS}items"]
    assert items["@list"][0][f"{OA}hasBody"]
    assert read[f"{AS}startIndex"][0]["@value"] == 0


@pytest.mark.parametrize("key", ["body", "target", "motivation"])
def test_a_mis_spelt_key_would_be_seen_to_vanish(key: str) -> None:
    document = told()
    document[f"{key}y"] = document.pop(key)
    assert len(expanded(document)) == len(expanded(told())) - 1


def test_regions_keep_the_constraints_of_the_standard() -> None:
    # Source: Audiovisual Core, list of terms 2026-02-24 (TDWG 638): 0 <= xFrac, yFrac; 0 < xFrac + widthFrac <= 1; the same for y.
    for region in (
        Region(0.0, 0.0, 1.0, 1.0),
        Region(0.9999999, 0.3333333, 0.0000001 + 0.001, 0.6666667),
        Region(1 / 3, 2 / 3, 2 / 3, 1 / 3),
    ):
        x, y, width, height = (float(cell) for cell in roi_rows(ADDRESS, [NamedRegion("m", "w", "bill", region)])[0][2:6])
        assert x >= 0
        assert y >= 0
        assert 0 < round(x + width, 6) <= 1
        assert 0 < round(y + height, 6) <= 1
        assert min(width, height) > 0
