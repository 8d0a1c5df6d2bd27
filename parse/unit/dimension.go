package unit

// Dimension is what a unit measures, in the trade's words. Units of one dimension
// always convert into each other. Some dimensions are the same to a physicist (torque
// and energy, speed and frequency) and are told apart since no technician mixes them.
type Dimension string

// The dimensions.
const (
	Torque              Dimension = "torque"
	Force               Dimension = "force"
	Length              Dimension = "length"
	Area                Dimension = "area"
	Volume              Dimension = "volume"
	Flow                Dimension = "flow"
	Velocity            Dimension = "velocity"
	Speed               Dimension = "speed" // of rotation
	Mass                Dimension = "mass"
	Pressure            Dimension = "pressure"
	Temperature         Dimension = "temperature"
	TemperatureInterval Dimension = "temperature interval"
	Resistance          Dimension = "resistance"
	Voltage             Dimension = "voltage"
	Current             Dimension = "current"
	Capacitance         Dimension = "capacitance"
	Frequency           Dimension = "frequency"
	Power               Dimension = "power"
	Energy              Dimension = "energy"
	Time                Dimension = "time"
	Angle               Dimension = "angle"
	Radian              Dimension = "angle in radians" // apart: pi has no exact value
	Ratio               Dimension = "ratio"
	Count               Dimension = "count"
)
