from .learning import Calibration as Calibration
from .learning import calibrate as calibrate
from .samples import LayeredSample as LayeredSample
