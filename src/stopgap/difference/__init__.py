"""How far two colours are from each other, one formula a file.

The formulas are in METRICS; `delta_E` applies one of them.
"""

from typing import TYPE_CHECKING

from stopgap.lazy import on_first_use

if TYPE_CHECKING:
    from stopgap.difference.cie_1976 import delta_E_cie_1976
    from stopgap.difference.cie_1994 import delta_E_cie_1994
    from stopgap.difference.ciede2000 import delta_E_ciede2000
    from stopgap.difference.cmc import delta_E_cmc
    from stopgap.difference.components import signed_differences
    from stopgap.difference.contours import Plane, unit_contour
    from stopgap.difference.grades import (
        COARSE_ABOVE,
        DEFAULT_METRIC,
        DIRECTION_ABOVE,
        GRADES,
        grade,
    )
    from stopgap.difference.hyab import delta_E_hyab
    from stopgap.difference.local_metric import (
        difference_gradient,
        difference_uncertainty,
        even_covariance,
        mean_uncertainty,
        metric_tensor,
    )
    from stopgap.difference.metamerism import special_metamerism_index
    from stopgap.difference.metrics import (
        METRICS,
        DifferenceFunction,
        Metric,
        delta_E,
        difference_function,
        metric_name,
    )
    from stopgap.difference.words import difference_words

__all__ = [
    "COARSE_ABOVE",
    "DEFAULT_METRIC",
    "DIRECTION_ABOVE",
    "GRADES",
    "METRICS",
    "DifferenceFunction",
    "Metric",
    "Plane",
    "delta_E",
    "delta_E_cie_1976",
    "delta_E_cie_1994",
    "delta_E_ciede2000",
    "delta_E_cmc",
    "delta_E_hyab",
    "difference_function",
    "difference_gradient",
    "difference_uncertainty",
    "difference_words",
    "even_covariance",
    "grade",
    "mean_uncertainty",
    "metric_name",
    "metric_tensor",
    "signed_differences",
    "special_metamerism_index",
    "unit_contour",
]

__getattr__ = on_first_use(
    __name__,
    {
        "cie_1976": "delta_E_cie_1976",
        "cie_1994": "delta_E_cie_1994",
        "ciede2000": "delta_E_ciede2000",
        "cmc": "delta_E_cmc",
        "components": "signed_differences",
        "contours": "Plane unit_contour",
        "grades": "COARSE_ABOVE DEFAULT_METRIC DIRECTION_ABOVE GRADES grade",
        "hyab": "delta_E_hyab",
        "local_metric": "difference_gradient difference_uncertainty even_covariance "
        "mean_uncertainty metric_tensor",
        "metamerism": "special_metamerism_index",
        "metrics": "METRICS DifferenceFunction Metric delta_E difference_function metric_name",
        "words": "difference_words",
    },
)
