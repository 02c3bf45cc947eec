"""Service age: days of life that days, minutes afloat, wet sorties and sinkings cost a part, learnt from failures."""
