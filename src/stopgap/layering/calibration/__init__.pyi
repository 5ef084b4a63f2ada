from .fit import LayeredSample as LayeredSample
from .learning import Calibration as Calibration
from .learning import calibrate as calibrate
