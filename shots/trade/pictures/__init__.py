from .facts import Facts, LockCard, Settings
from .measure import Measure, measure
from .register import Pose, prepare, register
