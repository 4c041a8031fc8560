from spotter.fit import Recipe
from spotter.network import Size

FILMS = {"strike": (0, 420), "fight": (0, 90), "thing": (0, 130), "calm": (0, 130)}
A_GPU = 5
W8 = Size()
W12 = Size(widths=(12, 24, 24, 48, 48, 72, 72))
W16 = Size(widths=(16, 32, 32, 64, 64, 96, 96))
WIDE = Size(widths=(8, 16, 16, 48, 48, 96, 96))
LUMA = Size(planes=(0, 1))
WLUMA = Size(widths=(16, 32, 32, 64, 64, 96, 96), planes=(0, 1))


def three(name, **how):
    return [Recipe(name, fold, **{"seconds": 225, "steps": 3000, **how}) for fold in range(3)]


RECIPES = [
    *three("w16", size=W16),
    *three("w16luma", size=WLUMA),
    *three("w8", size=W8),
    *three("w8luma", size=LUMA),
    *three("wide", size=WIDE),
    *three("w8films45", films=0.45),
    *three("w8calm2", calm=2.0),
    *three("wide_taught", size=WIDE, teachers=("w16", "w16luma")),
    *three("w12", size=W12),
    *three("w8films10", films=0.1),
    *three("w8even", contact_weight=3.0),
    *three("w8drop", dropout=0.5, weight_decay=0.2),
    *three("w8blunt", sharpness=1.3),
]
