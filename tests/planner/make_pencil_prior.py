"""Print where pencils lie as long as nothing is known of them: `python make_pencil_prior.py`.

Of the colours that the standard of naming has a name for, mean and standard deviation in even
coordinates, of which `planner.draws` takes one in all directions.
"""

import numpy as np

from stopgap.difference import to_even_coordinates
from stopgap.naming import categories


def prior():
    """The mean (3,) and the root mean square of the standard deviations of the three directions."""
    places = to_even_coordinates([category.lab for category in categories()])
    return places.mean(axis=0), float(np.sqrt(places.var(axis=0).mean()))


if __name__ == "__main__":
    mean, scatter = prior()
    print(f"PENCILS = {tuple(mean.round(1).tolist())}")
    print(f"PENCILS_SCATTER = {scatter:.1f}")
